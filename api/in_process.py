"""One request to an ASGI app in this process, without a socket."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from starlette.types import ASGIApp

NOTHING: Mapping[str, str] = MappingProxyType({})


async def call(
    app: ASGIApp, method: str, path: str, given: Mapping[str, str] = NOTHING, body: bytes = b""
) -> tuple[int, bytes]:
    """One request to an ASGI app in this process: status and body."""
    raw, _, query = path.partition("?")
    headers = [(name.encode(), value.encode()) for name, value in given.items()]
    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method, "scheme": "http",
        "path": raw, "raw_path": raw.encode(), "query_string": query.encode(), "headers": headers, "root_path": "",
        "client": None, "server": None,
    }
    status, pieces = 0, []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: Any) -> None:
        nonlocal status
        if message["type"] == "http.response.start":
            status = message["status"]
        else:
            pieces.append(message.get("body", b""))

    await app(scope, receive, send)
    return status, b"".join(pieces)
