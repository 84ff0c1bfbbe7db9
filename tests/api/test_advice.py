from __future__ import annotations

from typing import Any

import pytest
from fastapi.testclient import TestClient
from pydantic import TypeAdapter

from api.example_graph import TEXT
from schemas.answers import AdviceAnswer
from schemas.source import parse
from tests.api.conftest import COLD


def ask(client: TestClient, status: int = 200, **body: Any) -> Any:
    response = client.post("/v1/advice", json={"equipment": "toy-urn", **body})
    assert response.status_code == status, response.text
    return response.json()


def read(value: float, unit: str, **at: float) -> dict[str, Any]:
    return {"findings": [{"about": "element_resistance", "reading": {"value": value, "unit": unit, "at": at}}]}


def chance(answer: Any, mode: str) -> float:
    return float({s["failure_mode"]: s["chance"] for s in answer["advice"]["suspects"]}.get(mode, 0.0))


def test_advice_fits_its_schema_and_names_its_graph(client: TestClient) -> None:
    response = client.post("/v1/advice", json={"equipment": "toy-urn", "findings": [COLD]})
    TypeAdapter(AdviceAnswer).validate_json(response.content)
    stamp = response.json()["graph"]
    assert stamp["revision"] == 1
    assert response.headers["graph-digest"] == stamp["digest"]
    assert response.headers["graph-revision"] == "1"


def test_findings_move_the_suspects(client: TestClient) -> None:
    before = ask(client, findings=[COLD])
    dark = ask(client, findings=[COLD, {"about": "supply_lamp", "outcome": "dark"}])
    assert chance(dark, "supply.switched_off") > 0.9 > chance(before, "supply.switched_off")


def test_conditions_move_the_suspects(client: TestClient) -> None:
    hard = ask(client, findings=[COLD], conditions={"water": "hard"})
    soft = ask(client, findings=[COLD], conditions={"water": "soft"})
    assert chance(hard, "element.open_circuit") > chance(soft, "element.open_circuit")


def test_a_series_of_trials_is_taken(client: TestClient) -> None:
    answer = ask(client, findings=[COLD, {"about": "bridge_thermostat", "outcome": {"heats": 3, "stays_cold": 1}}])
    assert chance(answer, "thermostat.drops_out") > chance(ask(client, findings=[COLD]), "thermostat.drops_out")


def test_what_was_skipped_is_not_offered_again(client: TestClient) -> None:
    tests = {t["test"] for t in ask(client, findings=[COLD], most=20)["advice"]["next_tests"]}
    assert "element_resistance" in tests
    skipped = ask(client, findings=[COLD, {"about": "element_resistance", "outcome": "skipped"}], most=20)
    assert {t["test"] for t in skipped["advice"]["next_tests"]} == tests - {"element_resistance"}
    later = ask(client, most=20, findings=[
        COLD, {"about": "element_resistance", "outcome": "skipped"},
        {"about": "element_resistance", "outcome": "not_done"},
    ])
    assert {t["test"] for t in later["advice"]["next_tests"]} == tests


def test_contradictory_findings_are_answered_with_the_conflict(client: TestClient) -> None:
    lit_and_dead = [{"about": "supply_lamp", "outcome": "dark"}, {"about": "boils", "outcome": "present"}]
    advice = ask(client, findings=lit_and_dead)["advice"]
    assert advice["conflict"] is not None
    assert ["boils"] in advice["conflict"]["withdraw"]


def test_a_site_contact_is_not_sent_to_the_mains(client: TestClient) -> None:
    advice = ask(client, findings=[COLD], asker={"role": "site_contact"}, most=20)["advice"]
    assert all(not t["hazards"] and t["role"] == "site_contact" for t in advice["next_tests"])


def test_the_unit_state_saves_setting_up(client: TestClient) -> None:
    def minutes(**asker: Any) -> float:
        tests = ask(client, findings=[COLD], asker=asker, most=20)["advice"]["next_tests"]
        return float(next(t["minutes"] for t in tests if t["test"] == "bridge_thermostat"))

    assert minutes() == 9
    assert minutes(unit_state={"power": "isolated"}) == 6


def test_most_limits_the_tests(client: TestClient) -> None:
    assert len(ask(client, findings=[COLD], most=1)["advice"]["next_tests"]) == 1


def test_the_budget_limits_the_kit(client: TestClient) -> None:
    assert ask(client, findings=[COLD])["advice"]["kit"]["price"] > 0
    assert ask(client, findings=[COLD], economics={"kit_budget": 0})["advice"]["kit"]["lines"] == []


def test_a_reading_without_a_graph_for_it_and_age_are_named_as_not_used(client: TestClient) -> None:
    plain = ask(client, findings=[COLD])
    noted = ask(client, unit={"age_years": 12}, findings=[
        {**COLD, "reading": {"value": 11.5, "unit": "Cel", "at": {"ambient": 20}}},
    ])
    added = set(noted["advice"]["notes"]) - set(plain["advice"]["notes"])
    assert any("11.5 Cel" in note for note in added)
    assert any("12 years" in note for note in added)
    assert noted["advice"]["suspects"] == plain["advice"]["suspects"]


def test_an_unknown_instrument_is_a_note_with_the_nearest(client: TestClient) -> None:
    notes = ask(client, findings=[COLD], asker={"instruments": ["multimetre", "crane"]})["advice"]["notes"]
    assert any("multimetre" in note and "“multimeter”" in note for note in notes)
    assert any("crane" in note and "mean" not in note for note in notes)


@pytest.mark.parametrize(("body", "status", "code", "pointer", "nearest"), [
    ({"equipment": "toy-um"}, 404, "unknown-equipment", "/equipment", "toy-urn"),
    ({"findings": [{"about": "water_cool", "outcome": "present"}]}, 404, "unknown-name", "/findings/0/about",
     "water_cold"),
    ({"findings": [COLD, {"about": "boils", "outcome": "presnt"}]}, 404, "unknown-name", "/findings/1/outcome",
     "present"),
    ({"findings": [{"about": "boils", "outcome": {"presnt": 2}}]}, 404, "unknown-name", "/findings/0/outcome/presnt",
     "present"),
    ({"conditions": {"watr": "hard"}}, 404, "unknown-name", "/conditions/watr", "water"),
    ({"conditions": {"water": "hart"}}, 404, "unknown-name", "/conditions/water", "hard"),
    ({"asker": {"unit_state": {"powr": "isolated"}}}, 404, "unknown-name", "/asker/unit_state/powr", "power"),
    ({"asker": {"unit_state": {"power": "isolate"}}}, 404, "unknown-name", "/asker/unit_state/power", "isolated"),
    ({"economics": {"currency": "USD"}}, 409, "currency-mismatch", "/economics/currency", None),
    ({"findings": [{"about": "switch_on", "outcome": {"runs": 1, "still_faulty": 1}}]}, 409, "finding-misfit",
     "/findings/0/outcome", None),
    ({"findings": [{"about": "boils"}]}, 409, "finding-misfit", "/findings/0/outcome", None),
    ({"findings": [{"about": "boils", "outcome": None}]}, 409, "finding-misfit", "/findings/0/outcome", None),
    ({"findings": [{"about": "boils", "reading": {"value": 3, "unit": "A"}}]}, 409, "finding-misfit",
     "/findings/0/outcome", None),
    (read(26.4, "kohhm"), 404, "unknown-name", "/findings/0/reading/unit", "kΩ"),
    (read(26.4, "V"), 409, "unit-misfit", "/findings/0/reading/unit", None),
    (read(-26.4, "Ohm"), 409, "unit-misfit", "/findings/0/reading/value", None),
    (read(26.4, "Ohm", elemnt=20), 404, "unknown-name", "/findings/0/reading/at/elemnt", "element"),
    (read(26.4, "Ohm", element=5000), 409, "finding-misfit", "/findings/0/reading/at", None),
])
def test_what_does_not_fit_this_machine_is_refused(
    client: TestClient, body: dict[str, Any], status: int, code: str, pointer: str, nearest: str | None
) -> None:
    problem = ask(client, status, **body)
    assert problem["type"] == f"/problems/{code}"
    assert problem["errors"][0]["pointer"] == pointer
    assert problem["errors"][0]["nearest"] == nearest
    assert problem["errors"][0]["expected"]


def send_document(client: TestClient, document: Any, **body: Any) -> Any:
    return client.post("/v1/advice", json={"document": document, **body})


def test_a_graph_may_come_with_the_request(client: TestClient) -> None:
    document = parse(TEXT).data
    found = [{"about": "water_cold", "outcome": "present"}]
    response = send_document(client, document, findings=found)
    assert response.status_code == 200
    assert response.json()["graph"]["revision"] is None
    assert "graph-revision" not in response.headers
    assert send_document(client, document, findings=found).content == response.content
    assert "quillmere-u2" not in client.get("/v1/equipment").text


def test_a_graph_whose_names_do_not_fit_is_refused_with_every_defect(client: TestClient) -> None:
    document = parse(TEXT).data
    document["remedies"]["switch_on"]["parts"] = {"thermostatt": 1}
    document["tests"]["element_resistance"]["reveals"] = "elemnt"
    response = send_document(client, document)
    assert response.status_code == 409
    found = {e["pointer"]: e["nearest"] for e in response.json()["errors"]}
    assert found["/document/tests/element_resistance/reveals"] == "element"
    assert found["/document/remedies/switch_on/parts/thermostatt"] == "thermostat"


def test_a_graph_that_is_too_large_is_refused(opened: Any) -> None:
    response = send_document(opened(inline_hypotheses=3), parse(TEXT).data)
    assert response.status_code == 409
    assert response.json()["type"] == "/problems/graph-too-large"


def test_exactly_one_of_equipment_and_document(client: TestClient) -> None:
    both = send_document(client, parse(TEXT).data, equipment="toy-urn")
    neither = client.post("/v1/advice", json={"findings": []})
    assert both.status_code == neither.status_code == 422
    assert neither.json()["errors"][0]["pointer"] == "/equipment"


def test_a_misspelt_field_of_a_document_is_named_with_the_nearest(client: TestClient) -> None:
    document = parse(TEXT).data
    document["tests"]["element_resistance"]["minuts"] = 5
    response = send_document(client, document)
    assert response.status_code == 422
    error, = response.json()["errors"]
    assert error["pointer"] == "/document/tests/element_resistance/minuts"
    assert error["nearest"] == "minutes"


def test_a_reading_is_evidence_and_the_answer_says_what_was_expected(client: TestClient) -> None:
    plain = ask(client, findings=[COLD])
    sound = ask(client, findings=[COLD, *read(26.1, "Ω", element=25)["findings"]])
    broken = ask(client, findings=[COLD, *read(20, "MOhm")["findings"]])
    mode = "element.open_circuit"
    assert chance(sound, mode) < chance(plain, mode) / 10 < chance(plain, mode) < chance(broken, mode)
    report = sound["advice"]["readings"][0]
    # 230 V squared over 2000 W is 26.45 ohms at 20 degrees
    assert report["sentence"].startswith("26.1 Ω at 25 °C; a good element reads 26.5 Ω ± 2.")
    assert report["outcome"] == "continuity"
    assert sound["advice"]["conflict"] is None


def test_a_slip_in_the_unit_is_named_in_the_answer(client: TestClient) -> None:
    advice = ask(client, findings=[COLD, *read(26.4, "kOhm")["findings"]])["advice"]
    assert "check the instrument, the unit, or the graph" in advice["conflict"]["sentence"]
    assert "26.4 Ω, not kΩ" in advice["readings"][0]["slip"]
    assert advice["next_step"]["id"] == "element_resistance"


def test_a_case_keeps_a_reading_without_an_outcome_and_replays_it(client: TestClient, case: str) -> None:
    finding = read(26.1, "Ohm", element=25)["findings"][0]
    version = client.get(case).headers["etag"]
    answer = client.post(f"{case}/findings", json={"findings": [finding]}, headers={"if-match": version})
    assert answer.status_code in (200, 201), answer.text
    stored = client.get(case).json()["findings"][-1]
    assert stored["outcome"] is None
    assert stored["reading"] == finding["reading"]
    replayed = client.get(f"{case}/advice").json()["advice"]
    assert replayed["suspects"] == ask(client, findings=[COLD, finding])["advice"]["suspects"]


def test_a_test_says_which_number_it_reads(client: TestClient) -> None:
    tests = {t["id"]: t for t in client.get("/v1/equipment/toy-urn/tests").json()["tests"]}
    reading = tests["element_resistance"]["reading"]
    assert (reading["quantity"], reading["unit"]) == ("resistance", "Ohm")
    assert reading["at"] == [{"id": "element", "title": "Temperature of the element", "unit": "Cel", "usual": 20.0}]
    assert reading["usual"][1] == "an open one: over 1 MΩ"
    assert tests["supply_lamp"]["reading"] is None
