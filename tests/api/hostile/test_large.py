"""Bodies that are packed, or far too large."""

from __future__ import annotations

import gzip
import socket
from select import select
from typing import Any
from urllib.parse import urlsplit

import pytest

from api.model_tools.endpoint import PATH
from api.run import serving
from api.settings import Settings
from tests.api.conftest import settings
from tests.api.hostile.taking import SPOKEN, TAKEN, Service, Taken, problem

MANY = 100_000_000
"""Bytes of a body that is far too large."""
PIECE = b" " * 65_536
every = pytest.mark.parametrize("body", TAKEN, ids=[t.name for t in TAKEN])


@every
def test_a_body_that_is_packed_or_in_another_charset(service: Service, body: Taken) -> None:
    bomb = gzip.compress(b" " * 10_000_000)
    for coding in ("gzip", "deflate", "br", "zstd", "gzip, identity", "x" * 300):
        packed = service.send(body, bomb, content_encoding=coding)
        assert (packed.status_code, packed.headers["accept-encoding"]) == (415, "identity")
        problem(packed, "unsupported-content-type")
    for charset in ("utf-16", "latin-1", '"utf-7"', "x" * 300):
        response = service.send(body, "{}".encode("utf-16"), content_type=f"{body.media_type}; charset={charset}")
        assert "charset" in problem(response, "unsupported-content-type")["detail"]


async def read_until_answered(app: Any, method: str, path: str, headers: dict[str, str]) -> tuple[int, int]:
    """The status that a body of `MANY` bytes is answered with, and how many pieces of it were read."""
    read, status = 0, 0

    async def receive() -> dict[str, Any]:
        nonlocal read
        read += 1
        return {"type": "http.request", "body": PIECE, "more_body": read * len(PIECE) < MANY}

    async def send(message: Any) -> None:
        nonlocal status
        status = message.get("status", status)

    await app({
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method, "scheme": "http",
        "path": path, "raw_path": path.encode(), "query_string": b"", "root_path": "", "client": None,
        "server": ("127.0.0.1", 1), "headers": [(n.encode(), v.encode()) for n, v in headers.items()],
    }, receive, send)
    return status, read




@pytest.mark.parametrize("body", [*TAKEN, None], ids=[*(t.name for t in TAKEN), "tools"])
def test_of_a_body_far_too_large_little_is_read(service: Service, body: Taken | None) -> None:
    app, portal = service.client.app, service.client.portal
    assert portal is not None
    method, path = ("POST", PATH) if body is None else (body.operation.method.upper(), body.path(service.ids))
    headers = SPOKEN if body is None else body.headers()
    announced = {**headers, "content-length": str(MANY)}
    assert portal.call(read_until_answered, app, method, path, announced) == (413, 0)
    status, read = portal.call(read_until_answered, app, method, path, headers)
    assert status == 413
    assert read <= Settings().most_bytes // len(PIECE) + 2


def test_over_a_socket_the_answer_comes_before_the_end_of_the_body() -> None:
    with serving(settings(port=0)) as address, socket.create_connection(
        (urlsplit(address).hostname, urlsplit(address).port), timeout=30
    ) as connection:
        connection.sendall(b"POST /v1/cases HTTP/1.1\r\nhost: localhost\r\ncontent-type: application/json\r\n"
                           b"transfer-encoding: chunked\r\n\r\n")
        sent = 0
        while sent < MANY and not select([connection], [], [], 0)[0]:
            connection.sendall(b"%x\r\n%s\r\n" % (len(PIECE), PIECE))
            sent += len(PIECE)
        answer = connection.recv(65_536)
    assert answer.startswith(b"HTTP/1.1 413 ")
    assert sent < MANY // 2
