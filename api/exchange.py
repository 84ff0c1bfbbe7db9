"""Every request and its answer: an id, the trace it belongs to, what is measured of it and what is logged.

One ASGI layer around everything. The log has one JSON line a request with ids and figures; never a key, a header, a
query or a body, so nothing that a caller said.
"""

from __future__ import annotations

import logging
import random
import re
import sys
import time
import traceback
from dataclasses import dataclass, field
from typing import Any

import orjson
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.clock import Clock, written
from api.measures import Measures

LOG = logging.getLogger("halfsplit")
PLACE = "halfsplit.exchange"
_REQUEST_ID = re.compile(rb"[A-Za-z0-9._-]{1,64}")
_TRACE = re.compile(rb"(?!ff)[0-9a-f]{2}-(?!0{32})([0-9a-f]{32})-(?!0{16})([0-9a-f]{16})-([0-9a-f]{2})(?:-.*)?")


@dataclass(slots=True)
class Exchange:
    """One request as it goes on. `headers` go out with the answer, whatever it is."""

    request_id: str
    trace: str
    span: str
    flags: str
    operation: str = "none"
    tenant: str | None = None
    key: str | None = None
    status: int = 500
    failure: str | None = None
    headers: dict[str, str] = field(default_factory=dict)

    @property
    def traceparent(self) -> str:
        """The trace and the service's own place in it (W3C Trace Context), to pass on."""
        return f"00-{self.trace}-{self.span}-{self.flags}"


def exchange_of(scope: Scope) -> Exchange:
    """The exchange that a request belongs to."""
    exchange: Exchange = scope[PLACE]
    return exchange


class Exchanges:
    """The layer."""

    def __init__(self, app: ASGIApp, measures: Measures, clock: Clock) -> None:
        self._app = app
        self._measures = measures
        self._clock = clock

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        begun = time.perf_counter()
        exchange = scope[PLACE] = _begun(scope)

        async def sending(message: Message) -> None:
            if message["type"] == "http.response.start":
                exchange.status = message["status"]
                message["headers"] = [
                    *message["headers"], (b"x-request-id", exchange.request_id.encode()),
                    (b"traceparent", exchange.traceparent.encode()),
                    *((name.encode(), value.encode()) for name, value in exchange.headers.items()),
                ]
            await send(message)

        try:
            await self._app(scope, receive, sending)
        finally:
            spent = time.perf_counter() - begun
            self._measures.answered(exchange.operation, exchange.status, spent)
            if LOG.isEnabledFor(logging.INFO):
                LOG.info(self._line(exchange, scope, spent))

    def _line(self, exchange: Exchange, scope: Scope, spent: float) -> str:
        line: dict[str, Any] = {
            "time": written(self._clock()), "request_id": exchange.request_id, "trace_id": exchange.trace,
            "tenant": exchange.tenant, "key": exchange.key, "method": scope["method"][:16],
            "operation": exchange.operation, "status": exchange.status, "ms": round(spent * 1000, 2),
        }
        if exchange.failure is not None:
            line["failure"] = exchange.failure
        return orjson.dumps(line).decode()


def _begun(scope: Scope) -> Exchange:
    request_id, trace, flags = None, None, "00"
    for name, value in scope["headers"]:
        if name == b"x-request-id" and _REQUEST_ID.fullmatch(value):
            request_id = value.decode()
        elif name == b"traceparent":
            parts = _TRACE.fullmatch(value)
            if parts is not None:
                trace, flags = parts[1].decode(), parts[3].decode()
    return Exchange(request_id or _digits(16), trace or _digits(32), _digits(16), flags)


def _digits(many: int) -> str:
    """Random hexadecimal digits that tell one request from another; no secret, so that none has to be drawn."""
    return f"{random.getrandbits(4 * many):0{many}x}"


def place_of(error: BaseException) -> str:
    """Where an error came up, without what it says: that may hold a caller's words."""
    frames = traceback.extract_tb(error.__traceback__)[-4:]
    where = " < ".join(f"{f.filename.rsplit('/', 1)[-1]}:{f.lineno} {f.name}" for f in reversed(frames))
    return f"{type(error).__name__} at {where}"


def log_to_standard_error() -> None:
    """Write the log, one JSON line a request."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(logging.Formatter("%(message)s"))
    LOG.handlers, LOG.propagate = [handler], False
    LOG.setLevel(logging.INFO)
