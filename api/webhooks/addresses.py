"""Where an event may be sent: public addresses only, looked at after the name was resolved.

A subscriber chooses the address, and the service calls it from inside somebody's network. So the name
is resolved here, every address it stands for must be reachable from the whole Internet, and the call
goes to the address that was looked at, not to the name again.
"""

from __future__ import annotations

import socket
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, IPv6Network, ip_address
from urllib.parse import urlsplit

Resolve = Callable[[str, int], Sequence[str]]
Address = IPv4Address | IPv6Address
_TRANSLATED = (IPv6Network("64:ff9b::/96"), IPv6Network("64:ff9b:1::/48"))
"""Prefixes under which an IPv6 address stands for an IPv4 one (RFC 6052, RFC 8215)."""


class Forbidden(ValueError):
    """An address that events are not sent to; the text says why."""


@dataclass(frozen=True, slots=True)
class Target:
    """An address that was looked at: the call goes to `address`, in the name of `host`."""

    scheme: str
    host: str
    port: int
    path: str
    address: str


def resolved(host: str, port: int) -> Sequence[str]:
    """The addresses that a name stands for now. Raises Forbidden where there is none."""
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError):
        raise Forbidden(f"the name {host!r} has no address") from None
    return [str(entry[4][0]) for entry in found]


def looked_at(url: str, local: bool = False) -> tuple[str, str, int, str]:
    """Scheme, host, port and path of a URL that has the shape of a subscriber's address.

    `local` lets plain HTTP through, for programs beside the service. Raises Forbidden.
    """
    try:
        parts = urlsplit(url)
        host, port = parts.hostname, parts.port
    except ValueError:
        raise Forbidden("this is no URL") from None
    schemes = ("https", "http") if local else ("https",)
    if parts.scheme not in schemes or not host:
        raise Forbidden(f"an address begins with {' or '.join(f'{s}://' for s in schemes)} and a host")
    if parts.username is not None or parts.password is not None:
        raise Forbidden("an address carries no user name or password: the signature says who calls")
    if parts.fragment:
        raise Forbidden("an address has no fragment")
    path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    return parts.scheme, host, port or (443 if parts.scheme == "https" else 80), path


def target(url: str, local: bool = False, resolve: Resolve = resolved) -> Target:
    """Where a call to this URL goes. `local` lets loopback addresses through. Raises Forbidden."""
    scheme, host, port, path = looked_at(url, local)
    found = [ip_address(text.partition("%")[0]) for text in resolve(host, port)]
    if not found:
        raise Forbidden(f"the name {host!r} has no address")
    for address in found:
        if not (public(address) or (local and address.is_loopback)):
            raise Forbidden(f"{host!r} stands for {address}, which is not a public address")
    return Target(scheme, host, port, path, str(found[0]))


def public(address: Address) -> bool:
    """Whether an address can be reached from the whole Internet, whatever it is wrapped in."""
    if isinstance(address, IPv6Address):
        inner = address.ipv4_mapped or address.sixtofour or _translated(address)
        if inner is not None:
            return public(inner)
        if address.teredo is not None:
            return False
    return address.is_global and not address.is_multicast and not address.is_reserved


def _translated(address: IPv6Address) -> IPv4Address | None:
    return next((IPv4Address(int(address) & 0xFFFFFFFF) for net in _TRANSLATED if address in net), None)
