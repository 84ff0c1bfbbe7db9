"""The endpoint `/mcp`: streamable HTTP by the official SDK, without sessions, started by the first request.

The SDK takes a second to import and most services never need it. A worker keeps nothing between requests, so any
worker can answer any of them.
"""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

from fastapi import FastAPI, Request
from starlette.routing import Route
from starlette.types import Receive, Scope, Send

from api.service import Service, service_of

if TYPE_CHECKING:
    from mcp.server.streamable_http_manager import StreamableHTTPSessionManager

PATH = "/mcp"
SCOPE = "advice:read"
"""What a key must have to speak here at all; each tool asks for its own besides."""


class ModelTools:
    """The endpoint as an ASGI app of its own; `stop` ends what the first request started."""

    def __init__(self, app: FastAPI) -> None:
        self._app = app
        self._manager: StreamableHTTPSessionManager | None = None
        self._running: asyncio.Task[None] | None = None
        self._started, self._stopping = asyncio.Event(), asyncio.Event()

    def route(self) -> Route:
        """An exact route that takes POST alone: there is no stream to GET and no session to DELETE."""
        return Route(PATH, self, methods=["POST"], include_in_schema=False)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let in whoever has a key, and hand over to the SDK."""
        request = Request(scope, receive)
        service = service_of(request)
        caller = await service.doorkeeper.admit(request, SCOPE)
        if caller.key is not None:
            service.limits.take(caller.key)
        await self._start(service)
        assert self._manager is not None
        await self._manager.handle_request(scope, receive, send)

    async def _start(self, service: Service) -> None:
        """Wait until it runs. Raises what kept it from starting; the next request tries again."""
        if self._started.is_set():
            return
        if self._running is None or self._running.done():
            self._running = asyncio.create_task(self._run(service))
        started = asyncio.create_task(self._started.wait())
        await asyncio.wait((started, self._running), return_when=asyncio.FIRST_COMPLETED)
        started.cancel()
        if self._running.done():
            self._running.result()

    async def stop(self) -> None:
        """End the task that serves."""
        self._stopping.set()
        if self._running is not None:
            await asyncio.wait((self._running,))

    async def _run(self, service: Service) -> None:
        self._manager = await asyncio.to_thread(_manager, self._app, service)
        async with self._manager.run():
            self._started.set()
            await self._stopping.wait()


def _manager(app: FastAPI, service: Service) -> StreamableHTTPSessionManager:
    from mcp.server.mcpserver import MCPServer
    from mcp.server.streamable_http_manager import StreamableHTTPSessionManager
    from mcp.server.transport_security import TransportSecuritySettings

    from api.model_tools.tools import INSTRUCTIONS, add_tools

    server = MCPServer("halfsplit", title="Halfsplit", instructions=INSTRUCTIONS, version=app.version)
    add_tools(server, app)
    here = [f"{host}:*" for host in ("127.0.0.1", "localhost", "[::1]")]
    guarded = service.settings.loopback  # a page in a browser on this machine must not reach an open service
    return StreamableHTTPSessionManager(
        server._lowlevel_server, json_response=True, stateless=True, max_request_body_size=service.settings.most_bytes,
        security_settings=TransportSecuritySettings(
            enable_dns_rebinding_protection=guarded, allowed_hosts=here, allowed_origins=[f"http://{h}" for h in here],
        ),
    )
