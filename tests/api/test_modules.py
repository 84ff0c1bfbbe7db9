"""Documents with modules over the API: written out, digested as such, named and never a path."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from jsonschema_rs import Draft202012Validator

from api.models import Canonical
from schemas.load import document_of
from schemas.modules import library
from schemas.modules.library import Library
from schemas.source import parse
from tests.api.conftest import Open
from tests.schemas.modules.library import LAMP, LIBRARY, MACHINE, TRADE, USE

BOILER = Path(__file__).parents[2] / "fixtures" / "tutorial" / "quillmere-b8.yaml"
TEXT = BOILER.read_text(encoding="utf-8")
COLD = [{"about": "cold", "outcome": "present"}]
YAML = {"content-type": "application/yaml"}


def boiler() -> Any:
    return parse(TEXT).data


def test_advice_on_a_document_with_modules_is_that_on_the_same_written_out(client: TestClient) -> None:
    short = client.post("/v1/advice", json={"document": boiler(), "findings": COLD, "budget_ms": 0})
    full = document_of(TEXT).model_dump(mode="json", exclude_unset=True)
    long = client.post("/v1/advice", json={"document": full, "findings": COLD, "budget_ms": 0})
    assert short.status_code == 200
    assert short.json() == long.json()
    assert short.json()["graph"]["digest"] == Canonical.of(document_of(TEXT)).digest


def test_the_digest_changes_with_the_text_of_a_module() -> None:
    newer = Library({"trade": TRADE, "lamp": LAMP.replace(b"title: Blown", b"title: Burnt out")})
    one, other = (Canonical.of(document_of(MACHINE + USE, "x", which)) for which in (LIBRARY, newer))
    assert one.digest != other.digest


def test_a_case_keeps_its_graph_when_a_module_changes(
    opened: Open, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
) -> None:
    (tmp_path / "graphs").mkdir()
    (tmp_path / "graphs" / BOILER.name).write_text(TEXT, encoding="utf-8")
    settings = {"database": str(tmp_path / "cases.db"), "equipment": (tmp_path / "graphs",)}
    first = opened(**settings)
    case = first.post("/v1/cases", json={"equipment": "quillmere-b8", "findings": COLD}).headers["location"]
    before = first.get(f"{case}/advice", params={"budget_ms": 0})
    texts = dict(library.shipped()._texts)
    texts["contactor-heater"] = texts["contactor-heater"].replace(b"calls_per_thousand: 22", b"calls_per_thousand: 99")
    changed = Library(texts)
    monkeypatch.setattr("schemas.load.shipped", lambda: changed)
    second = opened(**settings)
    line, = second.get("/v1/equipment").json()["equipment"]
    assert line["revision"] == 2
    assert line["digest"] != before.json()["graph"]["digest"]
    after = second.get(f"{case}/advice", params={"budget_ms": 0})
    assert after.json()["graph"] == before.json()["graph"]
    assert after.json()["advice"] == before.json()["advice"]


@pytest.mark.parametrize("module", ["../equipment/quillmere-c45", "/etc/passwd", "inlet-valve.yaml", "file:///etc/passwd"])
def test_a_path_is_no_module(client: TestClient, module: str) -> None:
    document = boiler()
    document["modules"]["fill"]["module"] = module
    answer = client.post("/v1/advice", json={"document": document})
    assert answer.status_code == 422
    assert [e["pointer"] for e in answer.json()["errors"]] == ["/document/modules/fill/module"]


def test_an_unknown_module_names_the_nearest(client: TestClient) -> None:
    document = boiler()
    document["modules"]["fill"]["module"] = "inlet-valves"
    error, = client.post("/v1/advice", json={"document": document}).json()["errors"]
    assert (error["pointer"], error["nearest"]) == ("/document/modules/fill/module", "inlet-valve")


def test_a_check_says_both_places(client: TestClient) -> None:
    text = TEXT.replace("no_supply: {mains: absent}", "no_supply: {mians: absent}")
    defect, = client.post("/v1/graph-checks", content=text, headers=YAML).json()["defects"]
    line = next(i for i, row in enumerate(text.splitlines(), 1) if "mians" in row)
    assert (defect["pointer"], defect["line"]) == ("/modules/heat/with/no_supply/mians", line)
    assert defect["nearest"] == "mains"
    assert defect["sentence"].endswith(" /signals/feed/rules/0/when)")
    assert defect["sentence"].count("contactor-heater.yaml:") == 1


@pytest.mark.parametrize("how", ["json", "yaml"])
def test_a_check_counts_what_is_written_out(client: TestClient, how: str) -> None:
    sent = {"json": boiler()} if how == "json" else {"content": TEXT, "headers": YAML}
    answer = client.post("/v1/graph-checks", **sent).json()
    assert answer["usable"]
    assert answer["counts"]["failure_modes"] == len(document_modes())


def document_modes() -> list[str]:
    return [m for c in document_of(TEXT).components.values() for m in c.failure_modes]


def test_the_published_schema_knows_modules(client: TestClient) -> None:
    validator = Draft202012Validator(client.get("/v1/graph-schema").json())
    assert [error.message for error in validator.iter_errors(boiler())] == []
    unpriced = {"module": "x", "parts": {"p": {"price": 3}}}
    for change in ({"modul": "x"}, {"module": "../x"}, unpriced, {"module": "x", "wit": {}}):
        wrong = boiler()
        wrong["modules"]["fill"] = change
        assert list(validator.iter_errors(wrong)), change


def test_a_stored_document_is_the_one_written_out(opened: Open, tmp_path: Path) -> None:
    (tmp_path / BOILER.name).write_text(TEXT, encoding="utf-8")
    document = opened(equipment=(tmp_path,)).get("/v1/equipment/quillmere-b8/document").json()
    assert "modules" not in document
    assert document["tests"]["heat_clamp"]["reveals"] == "heat_amps"
