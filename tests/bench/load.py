"""Many callers at once: how many answers a second, and how late the late ones are.

The callers run in a process of their own, over connections that stay open, and do as little as they can: the bytes
of every request are made beforehand. Rates are compared with an empty route of the same server in the same run.
"""

from __future__ import annotations

import asyncio
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import count
from time import perf_counter
from typing import cast
from urllib.parse import urlsplit


@dataclass(frozen=True, slots=True)
class Load:
    """What came of it: answers a second, and milliseconds of the median and of the last in a hundred."""

    rate: float
    median: float
    p99: float


def request(address: str, method: str, path: str, body: bytes = b"", **headers: str) -> bytes:
    """The bytes of a request."""
    lines = [f"{method} {path} HTTP/1.1", f"host: {urlsplit(address).netloc}", f"content-length: {len(body)}"]
    lines += [f"{name.replace('_', '-')}: {value}" for name, value in headers.items()]
    if body:
        lines.append("content-type: application/json")
    return "\r\n".join([*lines, "", ""]).encode() + body


class _Caller(asyncio.Protocol):
    """One connection; `answered` is called with the status of each whole answer."""

    def __init__(self) -> None:
        self.transport: asyncio.Transport | None = None
        self.waiting: asyncio.Future[int] | None = None
        self._read = bytearray()

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        self.transport = cast(asyncio.Transport, transport)

    def data_received(self, data: bytes) -> None:
        self._read += data
        end = self._read.find(b"\r\n\r\n")
        if end < 0 or self.waiting is None:
            return
        head = bytes(self._read[:end]).lower()
        mark = head.find(b"content-length:")
        length = int(head[mark + 15:].split(b"\r\n", 1)[0]) if mark >= 0 else 0
        if len(self._read) >= end + 4 + length:
            del self._read[:end + 4 + length]
            waiting, self.waiting = self.waiting, None
            waiting.set_result(int(head[9:12]))

    def connection_lost(self, error: Exception | None) -> None:
        if self.waiting is not None and not self.waiting.done():
            self.waiting.set_exception(error or ConnectionError("the server hung up"))

    async def ask(self, given: bytes) -> int:
        """Send a request; the status of its answer."""
        assert self.transport is not None
        self.waiting = asyncio.get_running_loop().create_future()
        self.transport.write(given)
        return await self.waiting


async def _loaded(
    address: str, requests: Sequence[bytes], seconds: float, callers: int, rate: float | None, expected: int
) -> Load:
    loop, parts = asyncio.get_running_loop(), urlsplit(address)
    assert parts.hostname is not None and parts.port is not None
    connections = [
        (await loop.create_connection(_Caller, parts.hostname, parts.port))[1] for _ in range(callers)
    ]
    spent: list[float] = []
    numbers, begun = count(), perf_counter()

    async def call(caller: _Caller) -> None:
        while True:
            number = next(numbers)
            due = begun + number / rate if rate is not None else perf_counter()
            if due - begun >= seconds or perf_counter() - begun >= 2 * seconds:
                return
            if due > perf_counter():
                await asyncio.sleep(due - perf_counter())
            status = await caller.ask(requests[number % len(requests)])
            assert status == expected, f"status {status}, not {expected}"
            spent.append(perf_counter() - due)

    try:
        await asyncio.gather(*(call(caller) for caller in connections))
    finally:
        for caller in connections:
            assert caller.transport is not None
            caller.transport.close()
    took = perf_counter() - begun
    cuts = statistics.quantiles(spent, n=100)
    return Load(len(spent) / took, statistics.median(spent) * 1e3, cuts[98] * 1e3)


def load(
    address: str, requests: Sequence[bytes], seconds: float = 5.0, callers: int = 16, rate: float | None = None,
    expected: int = 200,
) -> Load:
    """Ask in turn for some seconds, as fast as answers come or `rate` times a second.

    At a given rate a request counts from the moment at which it was due, so that waiting in the queue of a slow
    server is waiting. Raises AssertionError at the first answer whose status is not `expected`.
    """
    import uvloop

    return uvloop.run(_loaded(address, requests, seconds, callers, rate, expected))
