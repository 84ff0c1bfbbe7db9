"""How operations say in the OpenAPI document which problems and headers their answers have."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Coroutine
from datetime import UTC, datetime
from email.utils import format_datetime
from typing import Any, get_origin

from fastapi import Request, Response
from fastapi.datastructures import DefaultPlaceholder
from fastapi.routing import APIRoute
from fastapi.utils import create_model_field
from pydantic import BaseModel

from api.exchange import exchange_of
from api.problems import MEDIA_TYPE, PROBLEMS, Refusal
from api.service import service_of
from schemas.problems import MOST_ITEMS, ProblemItem

Responses = dict[int | str, dict[str, Any]]
_BODY = ("not-json", "body-too-large", "unsupported-content-type", "invalid-request")
ETAG = {"ETag": {"description": "the version of what is answered", "required": True, "schema": {"type": "string"}}}
DIGEST = {"Graph-Digest": {
    "description": "SHA-256 of the graph document the answer rests on", "required": True, "schema": {"type": "string"},
}}
REVISION = {"Graph-Revision": {
    "description": "revision of the graph; absent for a graph sent with the request", "schema": {"type": "integer"},
}}
LOCATION = {"Location": {"description": "where the new one is", "required": True, "schema": {"type": "string"}}}
LINK = {"Link": {"description": "rel=\"next\": the following page", "schema": {"type": "string"}}}
IF_MATCH = {
    "name": "If-Match", "in": "header", "required": False, "schema": {"type": "string"},
    "description": "an ETag you hold: where it is no longer current the answer is 412 and nothing is done",
}
REQUEST_ID = {
    "name": "X-Request-Id", "in": "header", "required": False,
    "schema": {"type": "string"},
    "description": (
        "a name of your own for the request: up to 64 letters, digits, dots, hyphens, underscores. The answer carries "
        "it, or one that the service made up"
    ),
}
KEY_PATTERN = "^[!-~]{1,200}$"
"""What an Idempotency-Key may be: printable ASCII without spaces."""
IDEMPOTENCY_KEY = {
    "name": "Idempotency-Key", "in": "header", "required": False,
    "schema": {"type": "string", "pattern": KEY_PATTERN},
    "description": (
        "a key of your own making: the same request with it is carried out once, and answered alike for a week"
    ),
}
IF_NONE_MATCH = {
    "name": "If-None-Match", "in": "header", "required": False, "schema": {"type": "string"},
    "description": "an ETag you hold: while it is current the answer is 304 without a body",
}
REPEATABLE = ("bad-idempotency-key", "key-reused", "in-flight")
"""Problems of an operation that takes an Idempotency-Key."""
CONDITIONAL = (
    " Send the case's ETag as `If-Match` to make sure that nobody changed it since you read it: if somebody did, "
    "the answer is 412 and nothing is stored."
)


def refusals(*codes: str, body: bool = False, parameters: bool = False) -> Responses:
    """The problem responses of an operation, by status, each naming its problem types."""
    of_status: dict[int, list[str]] = {}
    named = [*codes, *(_BODY if body else ("invalid-request",) if parameters else ()), "internal-error"]
    for code in dict.fromkeys(named):
        of_status.setdefault(PROBLEMS[code].status, []).append(code)
    return {status: _response(found) for status, found in sorted(of_status.items())}


def _response(codes: list[str]) -> dict[str, Any]:
    return {
        "description": "; ".join(f"{PROBLEMS[code].title} (`{code}`)" for code in codes),
        "content": {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}},
    }


def headers(*kinds: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """A response that carries these headers."""
    return {"headers": {name: kind for group in kinds for name, kind in group.items()}}


NOT_MODIFIED: dict[str, Any] = {"description": "You already have this version.", **headers(ETAG)}


Handler = Callable[[Request], Coroutine[Any, Any, Response]]
_GUARDED = ("no-key", "scope-missing", "too-many-requests", "storage-busy", "storage-unavailable", "storage-full")
PUBLIC: dict[str, Any] = {"security": []}
"""Of an operation that needs no key."""


def needs(scope: str, *parameters: dict[str, Any]) -> dict[str, Any]:
    """Of an operation: the scope that its callers' keys must have, and header parameters."""
    return {"security": [{"key": [scope]}], **({"parameters": list(parameters)} if parameters else {})}


def going(since: datetime, until: datetime, instead: str) -> dict[str, Any]:
    """Of an operation on its way out: since when, until when, and the page that says what to use instead."""
    return {"deprecated": True, "x-deprecated-since": since.isoformat(), "x-sunset": until.isoformat(),
            "x-instead": instead}


class AnswerRoute(APIRoute):
    """A route that lets in who may use it, and says so in the OpenAPI document.

    Its answer's model is looked at only when that document is built. Answers go out as they are, so nothing needs
    their schema before; reading the records' docstrings for it would double the time that the service takes to start.
    FastAPI must not find it in `response_model`, from which it makes a schema with the first request.
    """

    def __init__(
        self, *given: Any, response_model: Any = None, responses: Responses | None = None,
        openapi_extra: dict[str, Any] | None = None, **more: Any,
    ) -> None:
        extra = openapi_extra or {}
        if "security" not in extra:
            raise TypeError(f"{given[:1]}: say what the operation needs, or that it is PUBLIC")
        self.scope: str | None = extra["security"][0]["key"][0] if extra["security"] else None
        responses = dict(responses or {})
        if self.scope is not None:
            responses = {**refusals(*_GUARDED), **responses}
        self.going = _headers_of_going(extra)
        super().__init__(*given, response_model=None, responses=responses, openapi_extra=extra, **more)
        self.answer_model = None if isinstance(response_model, DefaultPlaceholder) else response_model

    def describe(self) -> None:
        """Give the OpenAPI generator the schema of the answer."""
        if self.answer_model is not None and self.response_field is None:
            self.response_field = create_model_field(
                name=f"Response_{self.unique_id}", type_=self.answer_model, mode="serialization",
            )

    def answering(self) -> Handler:
        """What answers whoever was let in."""
        return super().get_route_handler()

    def get_route_handler(self) -> Handler:
        """What answers everybody."""
        handler, scope, operation, leaving = self.answering(), self.scope, self.operation_id or self.name, self.going
        several = _listed(self)

        async def guarded(request: Request) -> Response:
            exchange = exchange_of(request.scope)
            exchange.operation = operation
            exchange.headers.update(leaving)
            if scope is not None:
                service = service_of(request)
                caller = request.state.caller = await service.doorkeeper.admit(request, scope)
                exchange.tenant, exchange.key = caller.tenant, caller.key
                if caller.key is not None:
                    exchange.headers.update(service.limits.take(caller.key))
            _once(request, several)
            return await handler(request)

        return guarded


def _listed(route: APIRoute) -> frozenset[str]:
    """The query parameters that may come several times."""
    models = [field.field_info.annotation for field in route.dependant.query_params]
    return frozenset(
        name for model in models if isinstance(model, type) and issubclass(model, BaseModel)
        for name, field in model.model_fields.items() if get_origin(field.annotation) is list
    )


def _once(request: Request, several: Collection[str]) -> None:
    """Refuse a query in which a parameter comes again that has one value. Raises Refusal invalid-request."""
    names = Counter(name for name, _ in request.query_params.multi_items() if name not in several)
    again = sorted(name for name, times in names.items() if times > 1)[:MOST_ITEMS]
    if again:
        raise Refusal("invalid-request", f"{len(again)} parameters come more than once", [
            ProblemItem("", f"{name[:80]}: it comes {names[name]} times", "it once", None, name) for name in again
        ])


def _headers_of_going(extra: dict[str, Any]) -> dict[str, str]:
    """Deprecation (RFC 9745), Sunset (RFC 8594) and where to read on."""
    if "x-sunset" not in extra:
        return {}
    since, until = (datetime.fromisoformat(extra[name]).astimezone(UTC) for name in ("x-deprecated-since", "x-sunset"))
    return {
        "deprecation": f"@{int(since.timestamp())}", "sunset": format_datetime(until, usegmt=True),
        "link": f'<{extra["x-instead"]}>; rel="deprecation"',
    }
