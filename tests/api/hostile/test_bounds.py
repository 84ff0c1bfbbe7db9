"""Parameters in addresses and queries, and the bounds of everything that comes in."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.api.hostile.taking import SHAPED, Service, Taken, problem
from tests.api.walking import Operation, document, operations


def parameters() -> list[Any]:
    """Every parameter in an address or a query, with its operation."""
    return [
        pytest.param(o, p, id=f"{o.name} {p['name']}")
        for o in operations() for p in o.described.get("parameters", ()) if p["in"] in ("path", "query")
    ]


@pytest.mark.parametrize(("operation", "parameter"), parameters())
def test_every_parameter(either: Service, operation: Operation, parameter: dict[str, Any]) -> None:
    for value in ("%00", "a%00b", "%E2%80%AE", "%ED%A0%80%00", "9223372036854775808", "9" * 4000, "NaN", "[[[["):
        query = "" if parameter["in"] == "path" else f"?{parameter['name']}={value}"
        named = {**either.ids, parameter["name"]: value} if parameter["in"] == "path" else either.ids
        path = Taken(operation, "", None).path(named)
        response = either.client.request(operation.method, path + query, json={}, headers={"if-match": "*"})
        if response.status_code == 200:
            assert "%" not in value, response.text  # words like any other
        else:
            problem(response, "invalid-request", "not-found")


def test_every_string_and_number_that_comes_in_is_bounded() -> None:
    loose: list[str] = []

    def walk(node: Any, where: str, seen: frozenset[str]) -> None:
        if "$ref" in node:
            name = node["$ref"].rsplit("/", 1)[-1]
            if name not in seen:
                walk(document()["components"]["schemas"][name], name, seen | {name})
            return
        for union in ("anyOf", "oneOf", "allOf"):
            for branch in node.get(union, ()):
                walk(branch, where, seen)
        if node.get("type") == "string" and "enum" not in node and "const" not in node:
            pattern = node.get("pattern", "")
            if not pattern or re.search(pattern, "a\x00b") or re.search(pattern, "a\u202eb") \
                    or ("maxLength" not in node and re.search(pattern, "a" * 10_000)):
                loose.append(f"{where}: {node}")
        if node.get("type") in ("number", "integer") and "const" not in node and not (
            {"minimum", "exclusiveMinimum"} & set(node) and {"maximum", "exclusiveMaximum"} & set(node)
        ):
            loose.append(f"{where}: {node}")
        for name, child in node.get("properties", {}).items():
            walk(child, f"{where}/{name}", seen)
        for inner in ("items", "additionalProperties", "propertyNames"):
            if isinstance(node.get(inner), dict):
                walk(node[inner], f"{where}/{inner}", seen)
        for pattern, child in node.get("patternProperties", {}).items():
            walk(child, f"{where}/{pattern}", seen)

    for body in SHAPED:
        walk(body.operation.described["requestBody"]["content"][body.media_type]["schema"], body.name, frozenset())
    for operation in operations():
        for parameter in operation.described.get("parameters", ()):
            if parameter["in"] != "header":
                walk(parameter["schema"], f"{operation.name} {parameter['name']}", frozenset())
    assert not loose, "\n".join(loose)
