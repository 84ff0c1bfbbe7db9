from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

import pytest
from fastapi.testclient import TestClient
from jsonschema_rs import Draft202012Validator

from api.app import assembled, create_app
from api.examples import example_clock, example_names, played
from api.openapi import operations
from tests.api.conftest import Open, settings


@lru_cache(maxsize=1)
def document() -> dict[str, Any]:
    app = create_app(settings())
    found: dict[str, Any] = app.openapi()
    app.state.service.database.close()
    return found


@lru_cache(maxsize=1)
def by_operation() -> dict[str, tuple[str, str, dict[str, Any]]]:
    return {o["operationId"]: (m, p, o) for p, methods in document()["paths"].items() for m, o in methods.items()}


NAMES = list(by_operation())


def test_every_operation_is_told_apart() -> None:
    assert len(NAMES) == len(operations(document())) == sum(map(len, document()["paths"].values()))
    assert len({o["summary"] for _, _, o in by_operation().values()}) == len(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_every_operation_is_described(name: str) -> None:
    _, path, operation = by_operation()[name]
    assert path.startswith("/v1/")
    assert operation["summary"]
    assert operation["description"].endswith(".")
    assert len(operation["tags"]) == 1
    for status, response in operation["responses"].items():
        if status >= "400":
            assert list(response["content"]) == ["application/problem+json"]
            assert re.search(r"`[a-z-]+`", response["description"])
    for parameter in operation.get("parameters", ()):
        assert parameter.get("description") or parameter["schema"].get("description")


def test_no_model_is_there_twice() -> None:
    names = set(document()["components"]["schemas"])
    assert not [n for n in names if n.endswith(("-Input", "-Output")) or "__" in n or n.startswith("HTTPValidation")]
    assert "patternProperties" not in str(document())


def examples(operation: dict[str, Any]) -> Iterator[tuple[str, str, str | None, Any, Any]]:
    """(title, status, media type, body, answer) of every example."""
    sent = {
        title: (media_type, example["value"])
        for media_type, content in operation.get("requestBody", {}).get("content", {}).items()
        for title, example in content.get("examples", {}).items()
    }
    for status, response in operation["responses"].items():
        for title, example in response.get("content", {}).get("application/json", {}).get("examples", {}).items():
            yield (title, status, *sent.get(title, (None, None)), example["value"])


@pytest.mark.parametrize("name", NAMES)
def test_every_operation_has_an_example_that_fits_its_schema(name: str) -> None:
    _, _, operation = by_operation()[name]
    found = list(examples(operation))
    assert found
    definitions = {"components": document()["components"]}
    for _, status, media_type, body, answer in found:
        content = operation["responses"][status]["content"]["application/json"]
        assert Draft202012Validator({**content["schema"], **definitions}).is_valid(answer)
        assert (media_type is None) == ("requestBody" not in operation)
        if media_type is not None:
            schema = operation["requestBody"]["content"][media_type]["schema"]
            assert Draft202012Validator({**schema, **definitions}).is_valid(body)


def address(path: str, operation: dict[str, Any]) -> tuple[str, dict[str, Any], dict[str, str]]:
    query, headers = {}, {}
    for parameter in operation.get("parameters", ()):
        if "example" in parameter and parameter["in"] == "path":
            path = path.replace("{" + parameter["name"] + "}", str(parameter["example"]))
        elif "example" in parameter and parameter["in"] == "header":
            headers[parameter["name"]] = parameter["example"]
        elif "example" in parameter:
            query[parameter["name"]] = parameter["example"]
    return path, query, headers


def test_the_examples_run_as_written_and_give_what_they_show() -> None:
    """On a fresh service with the examples' clock and names, in the order of a call."""
    clock = example_clock()
    app = create_app(settings(), clock=clock, names=example_names(clock))
    service = app.state.service
    order = dict.fromkeys(exchange.operation for exchange in played(service, assembled(service)))
    service.resolve = lambda host, port: ["93.184.215.14"]
    client = TestClient(app)  # not entered: what runs beside the requests would turn the clock on
    for name in order:
        method, path, operation = by_operation()[name]
        url, query, more = address(path, operation)
        for _, status, media_type, body, answer in examples(operation):
            headers = {**more, **({"content-type": media_type} if media_type else {})}
            sent = {"content": body} if isinstance(body, str) else {"json": body} if body is not None else {}
            response = client.request(method, url, params=query, headers=headers, **sent)
            assert response.status_code == int(status), (name, response.text)
            given = response.json()
            assert given | ({"secret": answer["secret"]} if "secret" in given else {}) == answer, name
    service.database.close()


def test_the_document_is_served(client: TestClient) -> None:
    served = client.get("/openapi.json").json()
    assert served["openapi"] == "3.1.0"
    assert set(served["paths"]) == set(document()["paths"])


def test_without_equipment_the_document_still_comes(opened: Open) -> None:
    served = opened(equipment=()).get("/openapi.json").json()
    assert set(served["paths"]) == set(document()["paths"])


def test_the_reference_shows_every_operation_and_problem_page(client: TestClient) -> None:
    page = client.get("/reference").text
    for method, path, operation in by_operation().values():
        assert f'id="{operation["operationId"]}"' in page
        assert f'<span class="method {method}">{method.upper()}</span> <code class="path">{path}</code>' in page
        assert operation["summary"].replace("'", "&#x27;") in page
    assert "curl" in page
    assert not re.search(r'(src|href)="(https?:)?//', page)
