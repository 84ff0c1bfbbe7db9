"""Every operation of the OpenAPI document as a request that can be sent, with its own example."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from fastapi.testclient import TestClient

from api.app import create_app
from tests.api.conftest import settings


@cache
def document() -> dict[str, Any]:
    """The OpenAPI document of a service with the tests' equipment."""
    app = create_app(settings())
    found: dict[str, Any] = app.openapi()
    app.state.service.database.close()
    return found


@dataclass(frozen=True)
class Operation:
    """One operation; `scope` is what its document says that it needs, None where it needs no key."""

    name: str
    method: str
    path: str
    scope: str | None
    described: Mapping[str, Any]

    def names_any_of(self, ids: Collection[str]) -> bool:
        """Whether the address names something by one of these parameters."""
        return any("{" + name + "}" in self.path for name in ids)

    def sent(self, client: TestClient, ids: Mapping[str, str], headers: Mapping[str, str]) -> Any:
        """The answer to the operation's example, with these ids in the address."""
        path, query, more = self.path, {}, dict(headers)
        for parameter in self.described.get("parameters", ()):
            value = ids.get(parameter["name"], parameter.get("example"))
            if parameter["in"] == "path":
                path = path.replace("{" + parameter["name"] + "}", str(value))
            elif value is not None and parameter["in"] == "header":
                more[parameter["name"]] = str(value)
            elif value is not None:
                query[parameter["name"]] = value
        body: dict[str, Any] = {}
        for media_type, content in self.described.get("requestBody", {}).get("content", {}).items():
            for example in content.get("examples", {}).values():
                more["content-type"] = media_type
                value = example["value"]
                body = {"content": value} if isinstance(value, str) else {"json": value}
        return client.request(self.method, path, params=query, headers=more, **body)


def operations() -> list[Operation]:
    """All operations."""
    return [
        Operation(
            described["operationId"], method, path,
            described["security"][0]["key"][0] if described["security"] else None, described,
        )
        for path, methods in document()["paths"].items() for method, described in methods.items()
    ]
