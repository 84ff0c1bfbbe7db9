"""JSON Schemas as they are published."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from pydantic import TypeAdapter

from schemas.document import Document
from schemas.text import Name

DIALECT = "https://json-schema.org/draft/2020-12/schema"
NAME: str = TypeAdapter(Name).json_schema()["pattern"]


def closed(node: Any) -> Any:
    """A schema whose maps say about their keys what the models enforce.

    A map from names is generated as `patternProperties`, which leaves keys that don't match free; here
    the pattern moves to `propertyNames`, so that what the schema allows is what is accepted.
    """
    if isinstance(node, list):
        return [closed(item) for item in node]
    if not isinstance(node, dict):
        return node
    node = {key: closed(value) for key, value in node.items()}
    patterns = node.get("patternProperties")
    if isinstance(patterns, dict) and len(patterns) == 1 and node.get("type") == "object":
        (pattern, value), = node.pop("patternProperties").items()
        node["propertyNames"] = {**node.get("propertyNames", {}), "pattern": pattern}
        node["additionalProperties"] = value
    elif node.get("properties") and isinstance(node.get("additionalProperties"), dict):
        node["propertyNames"] = {"pattern": NAME}  # fields besides the declared ones are names too
    return node


@lru_cache(maxsize=1)
def graph_schema() -> dict[str, Any]:
    """JSON Schema of the graph document."""
    return {"$schema": DIALECT, **closed(Document.model_json_schema())}
