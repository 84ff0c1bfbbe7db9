"""The testability report over the wire, as a sheet and on the command line."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import orjson
import pytest
from fastapi.testclient import TestClient
from pydantic import TypeAdapter

import schemas.answers
from api.cli import main
from tests.api.conftest import EQUIPMENT

URN = str(next(EQUIPMENT.glob("*.yaml")))
ADDRESS = "/v1/equipment/toy-urn/testability"


def test_the_report_fits_its_schema(client: TestClient) -> None:
    response = client.get(ADDRESS, params={"calls": 10})
    assert response.status_code == 200, response.text
    answer = response.json()
    TypeAdapter(schemas.answers.TestabilityAnswer).validate_python(answer)
    crews = answer["testability"]["crews"]
    assert crews[0]["role"] == "site_contact"
    assert all(c["cost"]["calls"] == 10 for c in crews)
    assert all(0 < c["isolated_to_1"]["by_rate"] <= c["isolated_to_2"]["by_rate"] <= 1 for c in crews)
    assert answer["graph"]["digest"] == response.headers["graph-digest"]
    assert client.get(ADDRESS).json()["testability"]["crews"][0]["cost"] is None


def test_a_crew_of_ones_own_is_rated_too(client: TestClient) -> None:
    usual = client.get(ADDRESS).json()["testability"]["crews"]
    instrument = next(iter(client.get("/v1/equipment/toy-urn").json()["instruments"]))
    more = client.get(ADDRESS, params={"instruments": [instrument], "licences": ["electrical"]}).json()
    *same, asked = more["testability"]["crews"]
    assert same == usual
    assert asked["instruments"] == [instrument]
    assert asked["licences"] == ["electrical"]


def test_an_instrument_that_nobody_has_is_refused(client: TestClient) -> None:
    response = client.get(ADDRESS, params={"instruments": ["metre"]})
    assert response.status_code == 404
    assert response.json()["errors"][0]["pointer"] == "/instruments/0"
    assert client.get("/v1/equipment/toy-un/testability").json()["errors"][0]["nearest"] == "toy-urn"
    assert client.get(ADDRESS, params={"calls": 301}).status_code == 422


def test_the_sheet_has_a_bar_for_every_crew(client: TestClient) -> None:
    response = client.get(ADDRESS, params={"form": "svg", "calls": 10})
    assert response.headers["content-type"] == "image/svg+xml"
    root = ElementTree.fromstring(response.text)
    crews = client.get(ADDRESS).json()["testability"]["crews"]
    said = ["".join(text.itertext()) for text in root.iter("{http://www.w3.org/2000/svg}text")]
    for crew in crews:
        assert any(words.startswith(crew["title"]) for words in said)
    bars = [r for r in root.iter("{http://www.w3.org/2000/svg}rect") if r.get("height") == "26"]
    assert sum(float(b.attrib["width"]) for b in bars) == pytest.approx(520 * len(crews), abs=1)
    assert float(root.attrib["height"]) > 100 * len(crews)


def test_the_command_prints_text_json_and_a_sheet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet = tmp_path / "sheet.svg"
    assert main(["testability", URN, "--calls", "10", "--svg", str(sheet)]) == 0
    said = capsys.readouterr().out
    assert "The caller on the phone: " in said
    assert "to a verified repair: " in said
    assert "look the same; " in said
    assert ElementTree.parse(sheet).getroot().tag.endswith("svg")
    assert main(["testability", URN, "--calls", "0", "--json"]) == 0
    assert orjson.loads(capsys.readouterr().out)["crews"][0]["cost"] is None
    assert main(["testability", URN, "--calls", "-1"]) == 2
    assert main(["testability", URN, "--licence", "electric"]) == 2
    assert "did you mean 'electrical'?" in capsys.readouterr().err
