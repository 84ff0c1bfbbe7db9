"""What operations take, from the OpenAPI document, and a service to send harm to."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from fastapi.testclient import TestClient
from sqlalchemy import select as rows_of

from api.app import create_app
from api.tables import metadata
from tests.api.conftest import COLD, settings
from tests.api.walking import Operation, operations

BRACKETS = 100_000
"""Depth of what is nested far too deep."""
SPOKEN = {"content-type": "application/json", "accept": "application/json, text/event-stream", "host": "127.0.0.1:1"}
"""Headers of a request to the tools of language models."""


@dataclass(frozen=True)
class Taken:
    """A body that an operation takes: its media type and the document's own example."""

    operation: Operation
    media_type: str
    example: Any

    @property
    def name(self) -> str:
        return f"{self.operation.name} {self.media_type}"

    def headers(self) -> dict[str, str]:
        """What the operation wants besides the body."""
        first = {"if-none-match": "*"} if self.operation.name == "publishRevision" else {"if-match": "*"}
        return {"content-type": self.media_type, **first}

    def path(self, ids: dict[str, str]) -> str:
        """The address, naming what is there."""
        path = self.operation.path
        for parameter in self.operation.described.get("parameters", ()):
            if parameter["in"] == "path":
                named = ids.get(parameter["name"], parameter.get("example"))
                path = path.replace("{" + parameter["name"] + "}", str(named))
        return path


def taken() -> list[Taken]:
    """Every body that some operation takes."""
    found = []
    for operation in operations():
        for media_type, content in operation.described.get("requestBody", {}).get("content", {}).items():
            examples = [e["value"] for e in content.get("examples", {}).values()]
            found.append(Taken(operation, media_type, max(examples, key=lambda e: len(str(e)), default=None)))
    return found


TAKEN = taken()
AS_JSON = [t for t in TAKEN if t.media_type == "application/json"]
SHAPED = [t for t in AS_JSON if t.operation.name != "checkGraph"]
"""Bodies with a shape; a graph check takes any value and says what is wrong with it."""


@dataclass(frozen=True)
class Service:
    """A running service, and what is there to be named."""

    client: TestClient
    ids: dict[str, str]

    def send(self, body: Taken, content: bytes, **headers: str) -> Any:
        given = {**body.headers(), **{n.replace("_", "-"): v for n, v in headers.items()}}
        return self.client.request(body.operation.method, body.path(self.ids), content=content, headers=given)

    def stored(self) -> dict[str, list[Any]]:
        """All that is in the database."""
        database = self.client.app.state.service.database  # type: ignore[attr-defined]
        with database.reading() as db:
            return {
                table.name: sorted(map(tuple, db.execute(rows_of(table)).all()), key=repr)
                for table in metadata.sorted_tables
            }


@contextmanager
def running(url: str) -> Iterator[Service]:
    """A service with a case in it."""
    with TestClient(create_app(settings(database=url)), raise_server_exceptions=False) as client:
        case = client.post("/v1/cases", json={"equipment": "toy-urn", "findings": [COLD]}).json()["id"]
        yield Service(client, {"case_id": case, "equipment_id": "toy-urn", "number": "1"})


def problem(response: Any, *codes: str) -> Any:
    """The problem that a response is, one of these."""
    found = response.json()
    assert response.headers["content-type"] == "application/problem+json", response.text
    assert found["type"].removeprefix("/problems/") in codes, response.text
    assert found["status"] == response.status_code < 500
    assert found["detail"]
    assert all(item["detail"] for item in found["errors"])
    return found


def places(body: Taken, response: Any) -> set[str]:
    """Where a refusal says that something is wrong."""
    if body.operation.name == "adviseMany" and response.status_code == 200:  # each item is answered for itself
        return {
            f"/items/{n}{error['pointer']}" for n, item in enumerate(response.json()["items"])
            if item["status"] == 422 for error in item["problem"]["errors"]
        }
    return {error["pointer"] for error in problem(response, "invalid-request")["errors"]}
