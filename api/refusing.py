"""From whatever went wrong to problem details: one handler a family of errors."""

from __future__ import annotations

from collections.abc import Iterator
from http import HTTPMethod

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from sqlalchemy.exc import SQLAlchemyError
from starlette.exceptions import HTTPException
from starlette.routing import Match

from api.answering import encoded
from api.database import DatabaseBusy
from api.exchange import exchange_of, place_of
from api.faults import refusal_of_fault
from api.problems import MEDIA_TYPE, Refusal, refusal_of
from graph.errors import HalfsplitError
from schemas.problems import ProblemItem

_STATUS_CODES = {400: "bad-request", 404: "not-found", 405: "method-not-allowed", 413: "body-too-large"}


def refused(request: Request, refusal: Refusal) -> Response:
    """A refusal as a response."""
    body = encoded(refusal.problem(request.scope.get("path", ""), exchange_of(request.scope).request_id))
    return Response(body, refusal.kind.status, refusal.headers, MEDIA_TYPE)


def install(app: FastAPI) -> None:
    """Make every error of the app a problem."""

    async def on_refusal(request: Request, error: Exception) -> Response:
        assert isinstance(error, Refusal)
        return refused(request, error)

    async def on_core(request: Request, error: Exception) -> Response:
        assert isinstance(error, HalfsplitError)
        return refused(request, refusal_of(error))

    async def on_parameters(request: Request, error: Exception) -> Response:
        assert isinstance(error, RequestValidationError)
        items = tuple(_parameter_items(error))
        return refused(request, Refusal("invalid-request", f"{len(items)} parameters don't fit", items))

    async def on_http(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        code = _STATUS_CODES.get(error.status_code, "internal-error")
        if code == "method-not-allowed":
            allowed = ", ".join(_methods(app, request))
            return refused(request, Refusal(code, f"{request.method} is not among {allowed}", (), {"allow": allowed}))
        return refused(request, Refusal(code, f"there is nothing at {request.scope['path']!r}"
                                        if code == "not-found" else str(error.detail)))

    async def on_storage(request: Request, error: Exception) -> Response:
        assert isinstance(error, SQLAlchemyError | DatabaseBusy)
        fault = refusal_of_fault(error)
        if fault is None:
            raise error
        exchange_of(request.scope).failure = place_of(error)
        return refused(request, fault)

    async def on_anything(request: Request, error: Exception) -> Response:
        exchange_of(request.scope).failure = place_of(error)
        return refused(request, Refusal("internal-error", f"an unexpected {type(error).__name__}"))

    app.add_exception_handler(Refusal, on_refusal)
    app.add_exception_handler(HalfsplitError, on_core)
    app.add_exception_handler(RequestValidationError, on_parameters)
    app.add_exception_handler(HTTPException, on_http)
    app.add_exception_handler(SQLAlchemyError, on_storage)
    app.add_exception_handler(DatabaseBusy, on_storage)
    app.add_exception_handler(Exception, on_anything)


def _parameter_items(error: RequestValidationError) -> Iterator[ProblemItem]:
    for detail in error.errors():
        name = str(detail["loc"][-1])
        said = "there is no such parameter" if detail["type"] == "extra_forbidden" else "this value does not fit"
        yield ProblemItem("", f"{name[:80]}: {said}", detail["msg"].removeprefix("Input should be "), None, name)


def _methods(app: FastAPI, request: Request) -> list[str]:
    """Every method that some route has at the request's path."""
    return [
        method.value for method in HTTPMethod
        if any(route.matches({**request.scope, "method": method.value})[0] is Match.FULL for route in app.routes)
    ]
