"""Where events may go. The blocks come from the IANA special-purpose address registries (RFC 6890, from memory)."""

from __future__ import annotations

import pytest

from api.webhooks.addresses import Forbidden, Target, resolved, target

PUBLIC = "93.184.215.14"


def at(*found: str, url: str = "https://hooks.example/in?x=1", local: bool = False) -> Target:
    return target(url, local, lambda host, port: found)


def test_a_public_address_is_called_where_it_was_looked_at() -> None:
    assert at(PUBLIC) == Target("https", "hooks.example", 443, "/in?x=1", PUBLIC)
    assert at("2606:2800:21f:cb07::1").address == "2606:2800:21f:cb07::1"


@pytest.mark.parametrize("address", [
    "127.0.0.1", "10.1.2.3", "172.16.0.1", "192.168.1.1", "169.254.169.254", "100.64.0.1", "0.0.0.0", "224.0.0.1",
    "240.0.0.1", "255.255.255.255", "198.18.0.1", "192.0.2.1", "::1", "::", "fe80::1", "fe80::1%eth0", "fc00::1",
    "ff02::1", "::ffff:10.0.0.1", "::ffff:169.254.169.254", "64:ff9b::a9fe:a9fe", "2002:7f00:1::", "2002:a9fe:a9fe::",
    "2001:0:53aa:64c:0:fffe:f5ff:fffe", "fd00:ec2::254",
])
def test_private_and_metadata_addresses_are_refused_in_every_disguise(address: str) -> None:
    with pytest.raises(Forbidden, match="not a public address"):
        at(address)


def test_one_private_address_among_public_ones_is_enough() -> None:
    with pytest.raises(Forbidden):
        at(PUBLIC, "10.0.0.1")


@pytest.mark.parametrize("url", [
    "http://hooks.example/", "ftp://hooks.example/", "https://", "hooks.example", "https://user:pw@hooks.example/",
    "https://hooks.example/#part", "https://[::1", "https://hooks.example:99999/", "file:///etc/passwd", "",
])
def test_what_is_no_address_of_a_subscriber(url: str) -> None:
    with pytest.raises(Forbidden):
        at(PUBLIC, url=url)


def test_numbers_that_stand_for_loopback_are_resolved_before_they_are_judged() -> None:
    for host in ("2130706433", "0x7f000001", "127.1", "localhost"):
        with pytest.raises(Forbidden):
            target(f"https://{host}/", resolve=resolved)


def test_a_program_beside_the_service_can_be_let_through() -> None:
    assert at("127.0.0.1", url="http://localhost:9000", local=True) == Target(
        "http", "localhost", 9000, "/", "127.0.0.1")
    with pytest.raises(Forbidden):
        at("10.0.0.1", url="http://inside/", local=True)


def test_a_name_without_address() -> None:
    with pytest.raises(Forbidden, match="no address"):
        at()
