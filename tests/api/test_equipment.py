from __future__ import annotations

import json
from typing import Any

import networkx as nx
import pytest
from fastapi.testclient import TestClient

from api.example_graph import TEXT
from schemas.document import Document
from schemas.load import load_data
from tests.api.conftest import Open

TOY = "/v1/equipment/toy-urn"
YAML = {"content-type": "application/yaml"}


def test_the_equipment_is_listed(client: TestClient) -> None:
    line, = client.get("/v1/equipment").json()["equipment"]
    assert (line["id"], line["revision"], line["maker"]) == ("toy-urn", 1, "Quillmere")


def test_one_family(client: TestClient) -> None:
    answer = client.get(TOY).json()
    assert answer["counts"] == {
        "components": 3, "failure_modes": 4, "signals": 3, "conditions": 1, "symptoms": 2, "tests": 3, "remedies": 3,
        "parts": 2,
    }
    condition, = answer["conditions"]
    assert (condition["states"]["hard"], condition["shares"]["hard"], condition["option"]) == ("hard", 0.4, False)
    assert answer["cautions"] == ["The water may be at 95 °C."]
    assert answer["unit_states"] == {"power": ["energised", "isolated"]}
    assert answer["digest"] == client.get("/v1/equipment").json()["equipment"][0]["digest"]


def test_symptoms_with_their_phrases(client: TestClient) -> None:
    first = client.get(f"{TOY}/symptoms").json()["symptoms"][0]
    assert first == {
        "id": "water_cold", "title": "The water stays cold", "question": "Is the water cold?",
        "phrases": ["no hot water"], "outcomes": [
            {"id": "present", "title": "The water stays cold"}, {"id": "absent", "title": "not: The water stays cold"},
        ],
    }


def test_tests_with_what_they_need(client: TestClient) -> None:
    tests = {t["id"]: t for t in client.get(f"{TOY}/tests").json()["tests"]}
    assert set(tests) == {"bridge_thermostat", "element_resistance", "supply_lamp"}
    assert tests["bridge_thermostat"]["needs"] == {"power": "isolated"}
    assert tests["element_resistance"]["instruments"] == ["multimeter"]


def test_the_operating_sequence(client: TestClient) -> None:
    step, = client.get(f"{TOY}/sequence").json()["steps"]
    assert (step["id"], step["shows"]) == ("heat_up", {"element_supply": "present"})


def test_the_graph_is_node_link_data(client: TestClient) -> None:
    net = nx.node_link_graph(client.get(f"{TOY}/graph").json(), edges="edges")
    assert net.edges["thermostat", "thermostat.stuck_open"]["kind"] == "fails as"
    assert nx.has_path(net, "supply.switched_off", "water_cold")


def test_the_document_makes_the_same_graph(client: TestClient) -> None:
    document = client.get(f"{TOY}/document").json()
    assert load_data(document).modes.keys() == {
        "supply.switched_off", "thermostat.stuck_open", "thermostat.drops_out", "element.open_circuit",
    }
    answer = client.post("/v1/advice", json={"document": document}).json()
    known = client.post("/v1/advice", json={"equipment": "toy-urn"}).json()
    assert answer["advice"] == known["advice"]
    assert answer["graph"]["digest"] == known["graph"]["digest"]


@pytest.mark.parametrize("path", ["", "/symptoms", "/tests", "/sequence", "/graph", "/document"])
def test_unknown_equipment_names_the_nearest(client: TestClient, path: str) -> None:
    response = client.get("/v1/equipment/toy-um" + path)
    assert (response.status_code, response.json()["type"]) == (404, "/problems/unknown-equipment")
    assert response.json()["errors"][0]["nearest"] == "toy-urn"


@pytest.mark.parametrize("path", ["", "/symptoms", "/tests", "/sequence", "/graph", "/document"])
def test_answers_name_their_graph(client: TestClient, path: str) -> None:
    response = client.get(TOY + path)
    assert response.headers["graph-revision"] == "1"
    assert response.headers["graph-digest"] == client.get(TOY).json()["digest"]


def checked(client: TestClient, body: str | bytes | Any, kind: str = "application/yaml") -> Any:
    if not isinstance(body, str | bytes):
        body = json.dumps(body, indent=2)
    response = client.post("/v1/graph-checks", content=body, headers={"content-type": kind})
    assert response.status_code == 200, response.text
    return response.json()


@pytest.mark.parametrize("kind", ["application/yaml", "text/yaml"])
def test_a_usable_document(client: TestClient, kind: str) -> None:
    answer = checked(client, TEXT, kind)
    assert (answer["usable"], answer["defects"]) == (True, [])
    assert answer["counts"]["failure_modes"] == 3
    assert len(client.get("/v1/equipment").json()["equipment"]) == 1


def test_what_is_odd_is_a_warning_with_its_line(client: TestClient) -> None:
    answer = checked(client, TEXT)
    assert answer["usable"]
    odd = {d["pointer"]: d for d in answer["warnings"]}["/remedies/replace_element"]
    assert (odd["code"], odd["line"]) == ("remedy-unverified", TEXT.split("\n").index(
        next(row for row in TEXT.split("\n") if row.lstrip().startswith("replace_element:"))) + 1)
    reason = "The urn is old and nobody minds."
    accepted = f"{TEXT}\naccepted: [{{code: remedy-unverified, where: /remedies, reason: {reason}}}]\n"
    answer = checked(client, accepted)
    assert "remedy-unverified" not in {d["code"] for d in answer["warnings"]}
    assert {a["reason"] for a in answer["accepted"]} == {reason}


def test_every_defect_is_named_with_line_and_nearest(client: TestClient) -> None:
    text = TEXT.replace("reveals: element\n", "reveals: elemnt\n").replace("{thermostat: 1}", "{thermostatt: 1}")
    answer = checked(client, text)
    assert (answer["usable"], answer["counts"]) == (False, {})
    found = {d["pointer"]: d for d in answer["defects"]}
    wrong = found["/tests/element_resistance/reveals"]
    assert (wrong["code"], wrong["nearest"], wrong["line"]) == (
        "unknown-name", "element", text.split("\n").index("    reveals: elemnt") + 1)
    assert "/remedies/replace_thermostat/parts/thermostatt" in found
    assert "did you mean 'element'?" in wrong["sentence"]


def test_json_is_checked_with_lines_too(client: TestClient) -> None:
    document = client.get(f"{TOY}/document").json()
    assert checked(client, document, "application/json")["usable"]
    document["tests"]["supply_lamp"]["reveals"] = "main"
    defect, = checked(client, document, "application/json")["defects"]
    assert defect["nearest"] == "mains"
    lines = json.dumps(document, indent=2).split("\n")
    assert '"reveals": "main"' in lines[defect["line"] - 1]


def test_json_that_is_no_yaml_is_checked(client: TestClient) -> None:
    document = client.get(f"{TOY}/document").json()
    document["equipment"]["title"] = "Urn \U0001f9ca"
    body = json.dumps(document, indent="\t")
    assert "\\ud83e" in body
    assert checked(client, body, "application/json")["usable"]


@pytest.mark.parametrize("body", [
    "", "a: [", "a: &x 1\nb: *x", "!!python/object:os.system x", "a: 1\na: 2", "\x00", b"\xff", "[" * 5000,
    '"\\ud800": 1', "format: .nan", "- 1", "42",
])
def test_text_that_is_no_document(client: TestClient, body: str | bytes) -> None:
    answer = checked(client, body)
    assert not answer["usable"]
    assert answer["defects"]


@pytest.mark.parametrize("body", ["null", "[]", "1", '{"a": 1, "a": 2}', '{"\\u0000": 1}', '{"format": 1e400}'])
def test_json_that_is_no_document(client: TestClient, body: str) -> None:
    response = client.post("/v1/graph-checks", content=body, headers={"content-type": "application/json"})
    assert response.status_code == 200 or response.json()["type"] == "/problems/not-json"
    assert response.status_code != 200 or not response.json()["usable"]


def test_a_graph_too_large_is_a_defect(opened: Open) -> None:
    defect, = checked(opened(inline_hypotheses=3), TEXT)["defects"]
    assert defect["code"] == "graph-too-large"


def test_the_published_schema_is_the_documents(client: TestClient) -> None:
    schema = client.get("/v1/graph-schema").json()
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert set(schema["properties"]) == set(Document.model_fields)
