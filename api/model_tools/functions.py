"""Function definitions for language models that don't speak the Model Context Protocol.

Made from the OpenAPI document: an operation is a function of the same name, its parameters are one JSON Schema
without references. What a model need not fill in (a graph of its own, prices, planning effort) is left out.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

Node = Mapping[str, Any]
OPERATIONS = ("matchEquipment", "matchSymptoms", "askNext", "matchAnswer", "advise", "planKit", "openCase",
              "addFindings", "readCaseAdvice")
LEFT_OUT = frozenset({
    "document", "economics", "budget_ms", "margins", "most", "form", "frontier", "minutes", "metadata",
})
_BRIEF = 400


def functions(document: Node) -> list[dict[str, Any]]:
    """The definitions, in the order of a call; each says by `x-request` which request it stands for."""
    found = {
        operation["operationId"]: (method, path, operation)
        for path, methods in document["paths"].items() for method, operation in methods.items()
    }
    return [_function(document, *found[name]) for name in OPERATIONS]


def _function(document: Node, method: str, path: str, operation: Node) -> dict[str, Any]:
    properties: dict[str, Any] = {}
    required: list[str] = []
    for parameter in operation.get("parameters", ()):
        if parameter["in"] == "header" or parameter["name"] in LEFT_OUT:
            continue
        properties[parameter["name"]] = {
            **_whole(document, parameter["schema"]), "description": parameter.get("description", "")}
        if parameter.get("required"):
            required.append(parameter["name"])
    body = operation.get("requestBody", {}).get("content", {}).get("application/json", {}).get("schema")
    if body is not None:
        fields = _by_equipment(document, body)
        properties |= {n: v for n, v in fields["properties"].items() if n not in LEFT_OUT}
        required += [n for n in fields.get("required", ()) if n not in LEFT_OUT]
    return {
        "type": "function",
        "function": {
            "name": operation["operationId"], "description": operation["description"][:_BRIEF],
            "parameters": {
                "type": "object", "properties": properties, "required": required, "additionalProperties": False,
            },
        },
        "x-request": {"method": method.upper(), "path": path},
    }


def _by_equipment(document: Node, schema: Node) -> Node:
    """The branch of a body that names its machine rather than bringing a graph."""
    branches = schema.get("oneOf", [schema])
    whole = [_resolved(document, branch) for branch in branches]
    chosen = next((b for b in whole if "document" not in b["properties"]), whole[0])
    return {**chosen, "properties": {
        n: _whole(document, v) for n, v in chosen["properties"].items() if n not in LEFT_OUT}}


def _resolved(document: Node, schema: Node) -> Node:
    if "$ref" in schema:
        node: Node = document["components"]["schemas"][schema["$ref"].rsplit("/", 1)[-1]]
        return node
    return schema


def _whole(document: Node, node: Any) -> Any:
    """A schema with what it refers to written out."""
    if isinstance(node, list):
        return [_whole(document, item) for item in node]
    if not isinstance(node, Mapping):
        return node
    if "$ref" in node:
        rest = {key: _whole(document, value) for key, value in node.items() if key != "$ref"}
        return {**_whole(document, _resolved(document, node)), **rest}
    return {key: _whole(document, value) for key, value in node.items() if key not in ("title", "discriminator")}
