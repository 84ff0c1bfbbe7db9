"""Who may do what: keys, the tenants they stand for, and their scopes.

A key is `hs_`, its id, `_` and 43 random characters. What is stored is the SHA-256 of the whole: with 256 random bits
in it, there is nothing to guess. A key found good is remembered for a few seconds, so that most requests need no
database and a revoked key is refused within that time, by every worker.
"""

from __future__ import annotations

import hashlib
import re
import secrets
import time
from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from hmac import compare_digest
from types import MappingProxyType

from fastapi import Request
from starlette.concurrency import run_in_threadpool

from api.clock import Clock, written
from api.database import Database
from api.problems import Refusal
from api.storage import keys
from api.storage.keys import KeyRecord
from graph.errors import listed, nearest_name

SCOPES: Mapping[str, str] = MappingProxyType({
    "advice:read": "ask for advice, paths, kits and van loads",
    "cases:read": "read cases and what their findings say",
    "cases:write": "open, change and close cases",
    "equipment:read": "read equipment and check graph documents",
    "equipment:publish": "publish revisions of graphs, set rates and prices of your own",
    "events:read": "read what happened to cases and graphs",
    "webhooks:manage": "say which addresses are told of what happens",
    "metrics:read": "read the figures of the whole service",
    "admin": "everything of the key's tenant (not the figures of the service)",
})
DEFAULT_TENANT = "default"
_TENANT = re.compile(r"[a-z][a-z0-9-]{0,63}")
_TOKEN = re.compile(r"hs_([0-9a-z]{10})_[A-Za-z0-9_-]{43}")
_DIGITS = "0123456789abcdefghjkmnpqrstvwxyz"
_MOST_REMEMBERED = 10_000


@dataclass(frozen=True, slots=True)
class Caller:
    """Who asks. `key` is the id of the key, None on a service that is open."""

    tenant: str
    key: str | None
    scopes: frozenset[str]

    def may(self, scope: str) -> bool:
        """Whether the caller's scopes cover this one."""
        return scope in self.scopes or ("admin" in self.scopes and scope != "metrics:read")


OPEN = Caller(DEFAULT_TENANT, None, frozenset(SCOPES))
"""Whoever asks a service that is open to its own machine."""


@dataclass(frozen=True, slots=True)
class NewKey:
    """A key just made; the only time that its text is known."""

    text: str
    record: KeyRecord


def make_key(
    database: Database, clock: Clock, tenant: str = DEFAULT_TENANT, scopes: Iterable[str] = ("admin",),
    title: str = "", days: float | None = None,
) -> NewKey:
    """Make and store a key. Raises ValueError for a scope that isn't one, or a tenant's name that can't be."""
    scopes = frozenset(scopes)
    for scope in sorted(scopes - set(SCOPES)):
        near = nearest_name(scope, SCOPES)
        hint = f" Did you mean {near!r}?" if near else ""
        raise ValueError(f"{scope!r} is not a scope; expected one of: {listed(SCOPES)}.{hint}")
    if not _TENANT.fullmatch(tenant):
        raise ValueError(f"{tenant!r} can't be a tenant's name; expected lower case, digits and hyphens, up to 64")
    now = clock()
    return _stored(database, KeyRecord(
        "", tenant, title, "", scopes, written(now), None if days is None else _after(now, timedelta(days=days)), None,
    ))


def _after(now: datetime, span: timedelta) -> str:
    return written(now + span)


def _stored(database: Database, wanted: KeyRecord) -> NewKey:
    name = "".join(secrets.choice(_DIGITS) for _ in range(10))
    text = f"hs_{name}_{secrets.token_urlsafe(32)}"
    record = KeyRecord(
        name, wanted.tenant, wanted.title, _digest(text).hex(), wanted.scopes, wanted.created, wanted.expires, None
    )
    database.write(lambda db: keys.add(db, record))
    return NewKey(text, record)


def rotate_key(database: Database, clock: Clock, name: str, overlap_hours: float = 24) -> NewKey | None:
    """A new key in place of one, which ends after the overlap. None where there is no such key that stands."""
    old = database.read(lambda db: keys.find(db, name))
    now = clock()
    if old is None or not old.stands(written(now)):
        return None
    until = _after(now, timedelta(hours=overlap_hours))
    lifetime = None
    if old.expires is not None:
        lifetime = _after(now, datetime.fromisoformat(old.expires) - datetime.fromisoformat(old.created))
        until = min(until, old.expires)
    new = _stored(database, KeyRecord("", old.tenant, old.title, "", old.scopes, written(now), lifetime, None))
    database.write(lambda db: keys.expire(db, name, until))
    return new


def _digest(text: str) -> bytes:
    return hashlib.sha256(text.encode("utf-8", "surrogateescape")).digest()


class Doorkeeper:
    """Who a request's key stands for."""

    def __init__(
        self, database: Database, clock: Clock, *, is_open: bool = False, seconds: float = 3,
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        self._database = database
        self._clock = clock
        self._open = is_open
        self._seconds = seconds
        self._monotonic = monotonic
        self._remembered: OrderedDict[bytes, tuple[float, Caller | None]] = OrderedDict()

    async def admit(self, request: Request, scope: str) -> Caller:
        """The caller, who may do what the scope covers. Raises Refusal no-key or scope-missing."""
        given = request.headers.get("authorization")
        if given is None and self._open:
            return OPEN
        scheme, _, text = (given or "").partition(" ")
        if scheme.lower() != "bearer":
            raise _no_key("there is no Authorization header" if given is None else "Authorization is not Bearer KEY")
        digest = _digest(text.strip())
        known = self._remembered.get(digest)
        if known is None or known[0] < self._monotonic():
            known = await run_in_threadpool(self._looked_up, text.strip(), digest)
        caller = known[1]
        if caller is None:
            raise _no_key("the key is unknown, expired or revoked")
        if not caller.may(scope):
            held = ", ".join(sorted(caller.scopes))
            raise Refusal("scope-missing", f"this needs the scope {scope}; the key has {held}")
        return caller

    def _looked_up(self, text: str, digest: bytes) -> tuple[float, Caller | None]:
        until = self._monotonic() + self._seconds
        found = until, self._caller(text, digest)
        self._remembered[digest] = found
        while len(self._remembered) > _MOST_REMEMBERED:
            self._remembered.popitem(last=False)
        return found

    def _caller(self, text: str, digest: bytes) -> Caller | None:
        parts = _TOKEN.fullmatch(text)
        if parts is None:
            return None
        record = self._database.read(lambda db: keys.find(db, parts[1]))
        if record is None or not compare_digest(bytes.fromhex(record.hash), digest):
            return None
        return Caller(record.tenant, record.id, record.scopes) if record.stands(written(self._clock())) else None


def _no_key(detail: str) -> Refusal:
    return Refusal("no-key", detail, headers={"www-authenticate": 'Bearer realm="halfsplit"'})
