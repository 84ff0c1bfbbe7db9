"""Request bodies: read up to the limit, of the right type, checked in one pass from bytes to a model."""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Coroutine
from functools import cached_property, wraps
from typing import Any, get_type_hints

from fastapi import Request, Response
from fastapi.dependencies.utils import get_dependant
from pydantic import TypeAdapter, ValidationError
from pydantic_core import from_json, to_json
from starlette.concurrency import run_in_threadpool

from api.documented import AnswerRoute, Handler
from api.problems import Refusal
from schemas.problems import items_of

Endpoint = Callable[..., Coroutine[Any, Any, Response]]
_LARGE = 50_000
"""A body of more bytes is read aside, so that others don't wait."""
_CHARSET = re.compile(r'charset\s*=\s*"?([^";\s]*)', re.IGNORECASE)
_UTF8 = ("utf-8", "utf8", "us-ascii")


def media_type(request: Request) -> str:
    """The body's media type without parameters, lower case; empty where none was given."""
    return request.headers.get("content-type", "").partition(";")[0].strip().lower()


async def whole_body(request: Request, most: int, types: tuple[str, ...]) -> bytes:
    """The body, read piece by piece so that nothing past `most` bytes is kept.

    Raises Refusal unsupported-content-type or body-too-large.
    """
    given = media_type(request)
    if given not in types:
        raise Refusal(
            "unsupported-content-type", f"the content type is {given!r}" if given else "there is no content type",
            headers={"accept-post": ", ".join(types)},
        )
    charset = _CHARSET.search(request.headers["content-type"])
    if charset is not None and charset[1].lower() not in _UTF8:
        raise Refusal("unsupported-content-type", f"the charset is {charset[1][:40]!r}; bodies are read as UTF-8")
    coding = request.headers.get("content-encoding", "identity").strip().lower()
    if coding not in ("", "identity"):
        raise Refusal("unsupported-content-type", f"the body is packed ({coding[:40]!r}); it is read only as it is",
                      headers={"accept-encoding": "identity"})
    announced = request.headers.get("content-length", "")
    if announced.isdecimal() and int(announced[:20]) > most:
        raise Refusal("body-too-large", f"the body has {announced[:20]} bytes, at most {most} are read")
    pieces, size = [], 0
    async for piece in request.stream():
        size += len(piece)
        if size > most:
            raise Refusal("body-too-large", f"the body has more than the {most} bytes that are read")
        pieces.append(piece)
    return b"".join(pieces)


def parsed(body: bytes, adapter: TypeAdapter[Any]) -> Any:
    """A body as the model it stands for. The last of duplicate keys counts. Raises Refusal."""
    try:
        return adapter.validate_json(body)
    except ValidationError as error:
        try:
            data = from_json(body)
        except ValueError as broken:
            detail = str(broken) if body.strip() else "there is no body"
            raise Refusal("not-json", detail[:200]) from None
        items = tuple(items_of(error, data, adapter))
        count = error.error_count()
        more = f"; the first {len(items)} are told" if count > len(items) else ""
        said = f"the body has {count} defect{'s' if count != 1 else ''}{more}"
        raise Refusal("invalid-request", said, items) from None


def fitted(data: Any, adapter: TypeAdapter[Any]) -> Any:
    """Data that were read already as the model they stand for, held to what a body is held to. Raises Refusal.

    Integers of any length, NaN and Infinity stay what they are, so that they are refused for what was sent.
    """
    return parsed(to_json(data, inf_nan_mode="constants"), adapter)


def _bodiless(endpoint: Endpoint) -> Endpoint:
    """The endpoint as FastAPI sees it: its `body` comes from the request's state, where `BodyRoute` put it."""

    @wraps(endpoint)
    async def told(request: Request, **parameters: Any) -> Response:
        return await endpoint(request=request, body=request.state.body, **parameters)

    whole = inspect.signature(endpoint)
    others = [one for name, one in whole.parameters.items() if name != "body"]
    told.__signature__ = whole.replace(parameters=others)  # type: ignore[attr-defined]
    return told


class BodyRoute(AnswerRoute):
    """A route whose endpoint's `body`, where it has one, is read by `whole_body` and `parsed`.

    FastAPI doesn't know of it, so that no schema of it is made before the first request: those of all bodies together
    are a good part of a service's start. The bytes as they were sent are the request's `body()`.
    """

    def __init__(self, path: str, endpoint: Endpoint, **more: Any) -> None:
        self.reads = endpoint if "body" in inspect.signature(endpoint).parameters else None
        super().__init__(path, endpoint if self.reads is None else _bodiless(endpoint), **more)

    @cached_property
    def adapter(self) -> TypeAdapter[Any]:
        """What checks the body; made when it is first asked for."""
        return TypeAdapter(get_type_hints(self.reads, include_extras=True)["body"])

    def describe(self) -> None:
        """Give the OpenAPI generator the schemas of the body and the answer."""
        super().describe()
        if self.reads is not None and self.body_field is None:
            self.body_field, = get_dependant(path=self.path_format, call=self.reads).body_params

    def answering(self) -> Handler:
        """The route's handler, given a request whose body is checked."""
        handler = super().answering()
        if self.reads is None:
            return handler

        async def checked(request: Request) -> Response:
            most: int = request.app.state.service.settings.most_bytes
            sent = await whole_body(request, most, ("application/json",))
            aside = len(sent) > _LARGE
            request.state.body = (
                await run_in_threadpool(parsed, sent, self.adapter) if aside else parsed(sent, self.adapter)
            )
            request._body = sent  # what Starlette keeps of a body that was read
            return await handler(request)

        return checked
