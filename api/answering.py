"""Answers out: records to JSON in one step, version tags, conditional requests."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import orjson
from fastapi import Request, Response
from pydantic import BaseModel

from api.problems import Refusal
from schemas.answers import CaseRecord, GraphStamp


def _plain(value: Any) -> Any:
    if isinstance(value, BaseModel):
        return value.model_dump(mode="json")
    if isinstance(value, Mapping):
        return dict(value)
    raise TypeError(type(value))


def encoded(record: object) -> bytes:
    """A record of dataclasses, request models and mappings as JSON."""
    return orjson.dumps(record, default=_plain)


def answer(record: object, status: int = 200, headers: Mapping[str, str] | None = None) -> Response:
    """A JSON answer."""
    return Response(encoded(record), status, headers, "application/json")


def graph_headers(stamp: GraphStamp) -> dict[str, str]:
    """Which graph an answer rests on, for callers that don't read the body."""
    headers = {"graph-digest": stamp.digest}
    if stamp.revision is not None:
        headers["graph-revision"] = str(stamp.revision)
    return headers


def tag_of(case: CaseRecord) -> str:
    """The strong ETag of a case: its version."""
    return f'"{case.version}"'


def _names(header: str, tag: str) -> bool:
    return any(given.strip() in ("*", tag) for given in header.split(","))


def unchanged(request: Request, tag: str) -> Response | None:
    """The 304 answer where If-None-Match says that the caller has this version."""
    header = request.headers.get("if-none-match")
    if header is None or not _names(header.replace("W/", ""), tag):
        return None
    return Response(status_code=304, headers={"etag": tag})


def require_match(request: Request, tag: str, code: str, *, always: bool = False) -> None:
    """Hold a change to the version named in If-Match; `always` wants one named. Raises Refusal with this code."""
    header = request.headers.get("if-match")
    if header is None and always:
        raise Refusal("precondition-required", f"the request has no If-Match; the newest is {tag}")
    if header is not None and not _names(header, tag):
        raise Refusal(code, f"the newest is {tag}, not {header[:80]}")
