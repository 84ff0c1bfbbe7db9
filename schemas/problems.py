"""Problem details (RFC 9457), and a validation error in those words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from typing import Any

from pydantic import TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from graph.errors import PathItem, listed, nearest_name
from schemas.defects import defect_of, path_in
from schemas.document import Document


@dataclass(frozen=True, slots=True)
class ProblemItem:
    """One thing wrong: where (JSON Pointer into the body, or a parameter's name), what, what would do."""

    pointer: str
    detail: str
    expected: str | None = None
    nearest: str | None = None
    parameter: str | None = None


@dataclass(frozen=True, slots=True)
class Problem:
    """Why a request was not answered. `type` leads to a page that explains it; `request_id` is in the service's log."""

    type: str
    title: str
    status: int
    detail: str
    instance: str
    errors: tuple[ProblemItem, ...]
    request_id: str


def pointer_of(path: tuple[PathItem, ...]) -> str:
    """A path as a JSON Pointer (RFC 6901)."""
    return "".join("/" + str(p).replace("~", "~0").replace("/", "~1") for p in path)


MOST_ITEMS = 100
"""Defects that are told of one body; finding the nearest name takes its time."""


def items_of(error: ValidationError, data: Any, adapter: TypeAdapter[Any]) -> Iterator[ProblemItem]:
    """The first `MOST_ITEMS` defects of a body that was read but doesn't fit its shape."""
    schema = None
    for detail in islice(error.errors(include_url=False), MOST_ITEMS):
        path = path_in(detail, data)
        if path[:1] == ("document",) and len(path) > 1:
            yield _document_item(detail, path, data)
        else:
            schema = schema or adapter.json_schema()
            yield _item(detail, path, schema)


def _document_item(detail: ErrorDetails, path: tuple[PathItem, ...], data: Any) -> ProblemItem:
    inner = detail.copy()
    inner["loc"] = path[1:]
    defect = defect_of(inner, data["document"], Document)
    return ProblemItem("/document" + defect.pointer, f"found {defect.found}", defect.expected, defect.nearest)


def _item(detail: ErrorDetails, path: tuple[PathItem, ...], schema: dict[str, Any]) -> ProblemItem:
    kind, where = detail["type"], pointer_of(path)
    expected = detail["msg"].removeprefix("Input should be ").removeprefix("String should ")
    if kind == "missing":
        return ProblemItem(where, f"the field {path[-1]!r} is missing", f"the field {path[-1]!r}")
    if kind == "extra_forbidden":
        valid = _fields_at(path[:-1], schema)
        return ProblemItem(
            where, f"there is no field {str(path[-1])[:80]!r} here", f"one of: {listed(valid, 30)}",
            nearest_name(str(path[-1]), valid),
        )
    if kind == "string_pattern_mismatch":
        pattern = str(detail.get("ctx", {}).get("pattern", ""))
        expected = "text without control characters" if "x00" in pattern else f"text that matches {pattern}"
    nearest = None
    if kind == "literal_error":
        words = [w.strip("' ") for w in str(detail["ctx"]["expected"]).replace(" or ", ",").split(",")]
        nearest = nearest_name(str(detail.get("input")), words)
    return ProblemItem(where, "this value does not fit", expected, nearest)


def _fields_at(path: tuple[PathItem, ...], schema: dict[str, Any]) -> list[str]:
    """The fields that the published schema allows at `path`, over all branches of a union."""
    here = _branches(schema, schema)
    for item in path:
        following = []
        for node in here:
            child = node.get("items") if isinstance(item, int) else node.get("properties", {}).get(item)
            if isinstance(child, dict):
                following += _branches(child, schema)
        here = following
    return sorted({name for node in here for name in node.get("properties", {})})


def _branches(node: dict[str, Any], schema: dict[str, Any]) -> list[dict[str, Any]]:
    if "$ref" in node:
        return _branches(schema["$defs"][node["$ref"].rsplit("/", 1)[-1]], schema)
    unions = [*node.get("oneOf", ()), *node.get("anyOf", ())]
    return [leaf for branch in unions for leaf in _branches(branch, schema)] or [node]
