"""What pydantic found wrong, in the words of the document."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from graph.errors import Defect, PathItem, listed, nearest_name
from schemas.source import Path

_SPELLINGS = {"name", "list", "full", "number", "word", "[key]"}
"""What pydantic adds to a location: the spelling that was tried, and that a key is meant."""

_CODES = {
    "missing": "missing",
    "extra_forbidden": "unknown-field",
    "string_pattern_mismatch": "bad-name",
    "literal_error": "unknown-value",
    "greater_than": "out-of-range",
    "greater_than_equal": "out-of-range",
    "less_than": "out-of-range",
    "less_than_equal": "out-of-range",
    "too_short": "out-of-range",
    "too_long": "out-of-range",
    "string_too_short": "out-of-range",
    "string_too_long": "out-of-range",
    "finite_number": "out-of-range",
}
_EXPECTED = {
    "string_type": "text",
    "string_unicode": "text of whole characters",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "float_type": "a number",
    "finite_number": "a finite number",
    "bool_type": "true or false",
    "dict_type": "a map",
    "model_type": "a map",
    "list_type": "a list",
    "union_tag_invalid": "a name or a list of names",
    "greater_than": "more than {gt:g}",
    "greater_than_equal": "at least {ge:g}",
    "less_than": "less than {lt:g}",
    "less_than_equal": "at most {le:g}",
    "too_short": "at least {min_length} of them",
    "too_long": "at most {max_length} of them",
    "string_too_short": "at least {min_length} character",
    "string_too_long": "at most {max_length} characters",
}
_PATTERNS = {
    r"\.": "component.mode, in lower case with underscores",
    "A-Z": "three capitals like EUR (ISO 4217)",
    "x00": "text without control characters",
    "0-9-": "a name like level-switch (lower case, digits, hyphens, up to 64)",
    "0-9_": "a name like level_switch (lower case, digits, underscores, up to 64)",
}
"""What a pattern asks for, by the first of these marks that it holds."""


def defect_of(detail: ErrorDetails, data: Any, shape: type[BaseModel]) -> Defect:
    """One validation error of pydantic in the document's own words."""
    kind, given, context = detail["type"], detail.get("input"), detail.get("ctx", {})
    path = path_in(detail, data)
    found, nearest = _shown(given), None
    if kind == "missing":
        found, expected = "nothing", f"the field {path[-1]!r}"
    elif kind == "extra_forbidden":
        valid = _fields_at(path[:-1], shape)
        found, expected, nearest = repr(path[-1]), f"one of: {listed(valid, 30)}", nearest_name(str(path[-1]), valid)
    elif kind == "literal_error":
        expected = str(context["expected"]).replace("'", "")
        nearest = nearest_name(str(given), expected.replace(" or ", ", ").split(", "))
    elif kind == "string_pattern_mismatch":
        expected = next(words for mark, words in _PATTERNS.items() if mark in context["pattern"])
    elif kind == "string_type" and isinstance(given, int | float):
        expected = "text, in quotes"
    else:
        expected = _EXPECTED[kind].format(**context) if kind in _EXPECTED else detail["msg"]
    return Defect(_CODES.get(kind, "wrong-type"), path, found, expected, nearest)


def _shown(value: Any) -> str:
    """What was found, short enough to read."""
    if isinstance(value, Mapping):
        return "a map" if value else "an empty map"
    if isinstance(value, list):
        return "a list" if value else "an empty list"
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return str(value).lower()
    text = ascii(value[:60]) if isinstance(value, str) and not value.isprintable() else repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def path_in(detail: ErrorDetails, data: Any) -> Path:
    """The path of an error in the data: pydantic's marks for spellings, keys and branches of unions left out.

    What is there in the data is no mark, however it is called, and neither is a field that is missing.
    """
    path: list[PathItem] = []
    here, location = data, detail["loc"]
    for place, item in enumerate(location, 1):
        inside = item in here if isinstance(here, dict) else isinstance(here, list) and isinstance(item, int)
        named = inside or (detail["type"] == "missing" and place == len(location))
        if not named and (item in _SPELLINGS or str(item).startswith("(")):
            continue
        here = here[item] if inside else None
        path.append(item.encode(errors="backslashreplace").decode() if isinstance(item, str) else item)
    return tuple(path)


@cache
def _schema(shape: type[BaseModel]) -> dict[str, Any]:
    return shape.model_json_schema()


def _fields_at(path: Path, shape: type[BaseModel]) -> list[str]:
    """The field names that the schema allows at `path`."""
    schema = _schema(shape)
    here = schema
    for item in path:
        here = _resolved(here, schema)
        if isinstance(item, int):
            here = here.get("items", {})
        else:
            entries = (here.get("additionalProperties"), *here.get("patternProperties", {}).values(), {})
            here = here.get("properties", {}).get(item) or next(e for e in entries if isinstance(e, dict))
    return sorted(_resolved(here, schema).get("properties", {}))


def _resolved(node: dict[str, Any], schema: dict[str, Any]) -> dict[str, Any]:
    """A schema node with its `$ref`, and the object among its alternatives, followed."""
    branches = [*node.get("oneOf", ()), *node.get("anyOf", ())]
    node = next((b for b in branches if "$ref" in b), node)
    return dict(schema["$defs"][node["$ref"].rsplit("/", 1)[-1]]) if "$ref" in node else node
