from __future__ import annotations

import ast
import importlib
import pkgutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

import api
import graph
from api.problems import PROBLEMS
from graph.errors import HalfsplitError


def core_codes(kind: type[HalfsplitError] = HalfsplitError) -> Iterator[str]:
    for package in pkgutil.walk_packages(graph.__path__, "graph."):
        importlib.import_module(package.name)
    for sub in kind.__subclasses__():
        yield sub.code
        yield from core_codes(sub)


def service_codes() -> Iterator[str]:
    """The first argument of every `Refusal(…)` and the arguments of every `refusals(…)` in the service's source."""
    for path in Path(next(iter(api.__path__))).rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name):
                continue
            named = {
                "Refusal": node.args[:1], "refusals": node.args, "require_match": node.args[2:3],
            }.get(node.func.id, [])
            yield from (str(argument.value) for argument in named if isinstance(argument, ast.Constant))


def test_every_code_of_the_core_is_in_the_table() -> None:
    codes = set(core_codes())
    assert "unknown-name" in codes
    assert codes <= set(PROBLEMS)


def test_every_code_of_the_service_is_in_the_table() -> None:
    codes = set(service_codes())
    assert {"unknown-case", "case-closed", "body-too-large"} <= codes
    assert codes <= set(PROBLEMS)


def test_every_entry_of_the_table_is_used() -> None:
    by_http = {"bad-request", "not-found", "method-not-allowed"}
    assert set(PROBLEMS) == set(core_codes()) | set(service_codes()) | by_http


@pytest.mark.parametrize("code", PROBLEMS)
def test_every_problem_has_a_page(client: TestClient, code: str) -> None:
    page = client.get(f"/problems/{code}")
    assert page.status_code == 200
    assert page.headers["content-type"].startswith("text/html")
    assert code in page.text
    assert str(PROBLEMS[code].status) in page.text
    assert "What to do" in page.text
    assert f'href="/problems/{code}"' in client.get("/problems").text


def test_an_unknown_problem_names_the_nearest(client: TestClient) -> None:
    response = client.get("/problems/case-close")
    assert response.status_code == 404
    assert response.json()["errors"][0]["nearest"] == "case-closed"


def test_a_defect_of_the_service_is_a_problem_without_its_inside(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("secret inside")

    monkeypatch.setattr("api.routes.advice.question", broken)
    response = client.post("/v1/advice", json={"equipment": "toy-urn"})
    assert (response.status_code, response.json()["type"]) == (500, "/problems/internal-error")
    assert "secret" not in response.text
