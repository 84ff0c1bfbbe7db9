from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from api.registry import EquipmentNotUsable
from api.settings import Settings
from tests.api.conftest import COLD, EQUIPMENT, Open

DARK = {"about": "supply_lamp", "outcome": "dark"}
PIECES = ("advice?most=3", "suspects?most=3", "parts?most=3", "next-tests?most=3", "kit?questions=0&minutes=false")


def opened_case(client: TestClient, **body: Any) -> str:
    response = client.post("/v1/cases", json={"equipment": "toy-urn", **body})
    assert response.status_code == 201, response.text
    return str(response.headers["location"])


def pieces(client: TestClient, case: str) -> list[bytes]:
    answers = [client.get(f"{case}/{piece}") for piece in PIECES]
    assert [a.status_code for a in answers] == [200] * len(PIECES)
    return [a.content for a in answers]


def test_a_case_keeps_what_was_said(client: TestClient) -> None:
    said = {
        "complaint": "No hot water since Monday", "external_id": "WO-1", "conditions": {"water": "hard"},
        "asker": {"role": "site_contact"}, "unit": {"serial": "Q-7", "age_years": 4.5},
        "findings": [{**COLD, "by": "caller", "note": "since Monday", "reading": {"value": 11, "unit": "Cel"}}],
    }
    response = client.post("/v1/cases", json={"equipment": "toy-urn", **said})
    case = client.get(response.headers["location"])
    assert case.json() == response.json()
    assert case.headers["etag"] == response.headers["etag"] == '"1"'
    kept = case.json()
    for field in ("complaint", "external_id", "conditions"):
        assert kept[field] == said[field]
    assert kept["asker"]["role"] == "site_contact"
    assert kept["unit"]["age_years"] == 4.5
    finding, = kept["findings"]
    assert (finding["number"], finding["by"], finding["note"]) == (1, "caller", "since Monday")
    assert finding["withdrawn"] is None
    assert finding["reading"] == {"value": 11.0, "unit": "Cel", "at": {}}
    assert datetime.fromisoformat(finding["recorded"]).tzinfo == UTC


def test_a_case_answers_like_one_shot_advice(client: TestClient, case: str) -> None:
    once = client.post("/v1/advice", json={"equipment": "toy-urn", "findings": [COLD], "most": 3})
    advice, suspects, parts, tests, kit = (client.get(f"{case}/{p}") for p in PIECES)
    assert advice.content == once.content
    whole = once.json()["advice"]
    assert suspects.json()["suspects"] == whole["suspects"]
    assert parts.json()["parts"] == whole["parts"]
    assert tests.json()["next_tests"] == whole["next_tests"]
    assert kit.json()["kit"] == whole["kit"]


def test_a_withdrawn_finding_restores_the_answer_and_stays_on_record(client: TestClient, case: str) -> None:
    before = pieces(client, case)
    added = client.post(f"{case}/findings", json={"findings": [DARK, {"about": "boils", "outcome": "absent"}]})
    assert added.status_code == 201
    assert [f["number"] for f in added.json()["findings"]] == [1, 2, 3]
    assert pieces(client, case) != before
    for number in (2, 3):
        gone = client.post(f"{case}/findings/{number}/withdrawal", json={"reason": "wrong socket", "by": "N. Fitter"})
        assert gone.status_code == 201
    assert pieces(client, case) == before
    withdrawn = client.get(case).json()["findings"][1]
    assert withdrawn["about"] == "supply_lamp"
    assert withdrawn["withdrawn"]["reason"] == "wrong socket"
    again = client.post(f"{case}/findings/2/withdrawal", json={"reason": "twice"})
    assert (again.status_code, again.json()["type"]) == (409, "/problems/already-withdrawn")
    missing = client.post(f"{case}/findings/9/withdrawal", json={"reason": "none"})
    assert (missing.status_code, missing.json()["type"]) == (404, "/problems/unknown-finding")


def test_the_context_can_be_replaced(client: TestClient, case: str) -> None:
    said = {"conditions": {"water": "hard"}, "asker": {"role": "site_contact"}}
    blind = client.put(f"{case}/context", json=said)
    assert (blind.status_code, blind.json()["type"]) == (428, "/problems/precondition-required")
    response = client.put(f"{case}/context", json=said, headers={"if-match": client.get(case).headers["etag"]})
    assert response.status_code == 200
    once = client.post("/v1/advice", json={
        "equipment": "toy-urn", "findings": [COLD], "conditions": {"water": "hard"}, "asker": {"role": "site_contact"},
    })
    assert client.get(f"{case}/advice").content == once.content
    wrong = client.put(f"{case}/context", json={"conditions": {"water": "wet"}}, headers={"if-match": "*"})
    assert wrong.status_code == 404
    assert client.get(case).json() == response.json()


CLOSURE = {"found": ["thermostat.stuck_open"], "remedies": ["replace_thermostat"], "parts": {"thermostat_kit": 1},
           "minutes": 25, "note": "Runs again"}


def test_a_closed_case_can_be_read_but_not_changed(client: TestClient, case: str) -> None:
    before = pieces(client, case)
    closed = client.post(f"{case}/closure", json=CLOSURE)
    assert closed.status_code == 201
    assert closed.json()["status"] == "closed"
    assert closed.json()["closure"]["closure"]["parts"] == {"thermostat_kit": 1}
    for method, path, body in (
        ("POST", "/findings", {"findings": [DARK]}), ("POST", "/findings/1/withdrawal", {"reason": "late"}),
        ("PUT", "/context", {}), ("POST", "/closure", CLOSURE),
    ):
        late = client.request(method, case + path, json=body)
        assert (late.status_code, late.json()["type"]) == (409, "/problems/case-closed")
    assert client.get(case).json() == closed.json()
    assert pieces(client, case) == before


@pytest.mark.parametrize("found", ["no_fault_found", "unlisted", ["supply.switched_off", "element.open_circuit"]])
def test_what_can_be_found(client: TestClient, case: str, found: Any) -> None:
    closed = client.post(f"{case}/closure", json={"found": found})
    assert closed.json()["closure"]["closure"]["found"] == found


@pytest.mark.parametrize(("change", "pointer", "nearest"), [
    ({"found": ["thermostat.stuck"]}, "/found/0", "thermostat.stuck_open"),
    ({"remedies": ["replace_thermostats"]}, "/remedies/0", "replace_thermostat"),
    ({"parts": {"thermostat_kt": 1}}, "/parts/thermostat_kt", "thermostat_kit"),
])
def test_a_closure_names_what_the_graph_knows(
    client: TestClient, case: str, change: dict[str, Any], pointer: str, nearest: str
) -> None:
    response = client.post(f"{case}/closure", json={**CLOSURE, **change})
    assert response.status_code == 404
    assert response.json()["errors"][0]["pointer"] == pointer
    assert response.json()["errors"][0]["nearest"] == nearest
    assert client.get(case).json()["status"] == "open"


def test_a_wrong_finding_stores_nothing_of_its_request(client: TestClient, case: str) -> None:
    before = client.get(case).content
    wrong = client.post(f"{case}/findings", json={"findings": [DARK, {"about": "boils", "outcome": "dark"}]})
    assert wrong.status_code == 404
    assert wrong.json()["errors"][0]["pointer"] == "/findings/1/outcome"
    assert client.get(case).content == before


def test_a_case_holds_a_limited_number_of_findings(opened: Open) -> None:
    client = opened(most_findings=2)
    case = opened_case(client, findings=[COLD])
    response = client.post(f"{case}/findings", json={"findings": [DARK, DARK]})
    assert (response.status_code, response.json()["type"]) == (409, "/problems/case-full")


def test_if_match_holds_a_change_to_a_version(client: TestClient, case: str) -> None:
    tag = client.get(case).headers["etag"]
    first = client.post(f"{case}/findings", json={"findings": [DARK]}, headers={"if-match": tag})
    assert first.status_code == 201
    assert first.headers["etag"] != tag
    for method, path, body in (("POST", "/findings", {"findings": [DARK]}), ("PUT", "/context", {}),
                               ("POST", "/findings/1/withdrawal", {"reason": "late"}), ("POST", "/closure", CLOSURE)):
        stale = client.request(method, case + path, json=body, headers={"if-match": tag})
        assert (stale.status_code, stale.json()["type"]) == (412, "/problems/case-changed")
    assert client.get(case).json() == first.json()
    listed = f'"other", {first.headers["etag"]}'
    assert client.put(f"{case}/context", json={}, headers={"if-match": listed}).status_code == 200
    assert client.put(f"{case}/context", json={}, headers={"if-match": "*"}).status_code == 200


@pytest.mark.parametrize("path", ["", *(f"/{piece}" for piece in PIECES)])
def test_if_none_match_saves_reading_again(client: TestClient, case: str, path: str) -> None:
    first = client.get(case + path)
    again = client.get(case + path, headers={"if-none-match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert again.headers["etag"] == first.headers["etag"]
    client.post(f"{case}/findings", json={"findings": [DARK]})
    assert client.get(case + path, headers={"if-none-match": first.headers["etag"]}).status_code == 200


def test_pages_of_cases_hold_each_case_once(client: TestClient) -> None:
    names = {opened_case(client, external_id=f"WO-{i}").rsplit("/", 1)[1] for i in range(7)}
    address, seen = "/v1/cases?limit=3", []
    while address:
        page = client.get(address)
        seen.append([c["id"] for c in page.json()["cases"]])
        link = page.headers.get("link", "")
        assert bool(link) == (page.json()["next"] is not None)
        address = link.partition(">")[0][1:]
    flat = [name for page in seen for name in page]
    assert [len(page) for page in seen] == [3, 3, 1]
    assert flat == sorted(names, reverse=True)


def test_cases_can_be_chosen(client: TestClient) -> None:
    one, two = opened_case(client, external_id="WO-1"), opened_case(client, external_id="WO-2")
    client.post(f"{one}/closure", json=CLOSURE)

    def found(**query: str) -> list[str]:
        return ["/v1/cases/" + c["id"] for c in client.get("/v1/cases", params=query).json()["cases"]]

    assert found(status="closed") == [one]
    assert found(status="open") == [two]
    assert found(external_id="WO-2") == [two]
    assert found(equipment="toy-urn") == sorted([one, two], reverse=True)
    assert found(equipment="other") == []


@pytest.mark.parametrize("path", ["", *(f"/{piece}" for piece in PIECES)])
def test_an_unknown_case_is_not_found(client: TestClient, path: str) -> None:
    response = client.get("/v1/cases/01m88z3x6604tztnsprqx9gak9" + path)
    assert (response.status_code, response.json()["type"]) == (404, "/problems/unknown-case")


def kept(tmp_path: Path, text: str) -> dict[str, Any]:
    (tmp_path / "graphs").mkdir(exist_ok=True)
    (tmp_path / "graphs" / "toy-urn.yaml").write_text(text)
    return {"database": str(tmp_path / "cases.db"), "equipment": (tmp_path / "graphs",)}


def test_a_case_replays_after_a_restart_and_after_its_graph_changed(tmp_path: Path, opened: Open) -> None:
    text = (EQUIPMENT / "toy-urn.yaml").read_text()
    found = [COLD, {"about": "bridge_thermostat", "outcome": {"heats": 1, "stays_cold": 1}}]
    first = opened(**kept(tmp_path, text))
    case = opened_case(first, findings=found)
    before, record = pieces(first, case), first.get(case).content

    again = opened(**kept(tmp_path, text))
    assert (pieces(again, case), again.get(case).content) == (before, record)
    assert again.get("/v1/equipment/toy-urn").json()["revision"] == 1

    changed = opened(**kept(tmp_path, text.replace("calls_per_thousand: 100", "calls_per_thousand: 5")))
    assert (pieces(changed, case), changed.get(case).content) == (before, record)
    assert changed.get("/v1/equipment/toy-urn").json()["revision"] == 2
    assert pieces(changed, opened_case(changed, findings=found)) != before
    more = changed.post(f"{case}/findings", json={"findings": [DARK]})
    assert more.json()["graph"]["revision"] == 1

    back = opened(**kept(tmp_path, text))
    assert back.get("/v1/equipment/toy-urn").json()["revision"] == 1


def test_a_broken_graph_keeps_the_service_from_starting(tmp_path: Path, opened: Open) -> None:
    place = kept(tmp_path, (EQUIPMENT / "toy-urn.yaml").read_text().replace("reveals: mains", "reveals: main"))
    (tmp_path / "graphs" / "other.yaml").write_text("format: 1\nequipmnt: {}\n")
    with pytest.raises(EquipmentNotUsable) as caught:
        opened(**place)
    assert {d.source for d in caught.value.defects} == {"toy-urn.yaml", "other.yaml"}
    assert any(d.nearest == "mains" and d.line for d in caught.value.defects)


def test_two_files_of_one_family_keep_the_service_from_starting(tmp_path: Path, opened: Open) -> None:
    text = (EQUIPMENT / "toy-urn.yaml").read_text()
    place = kept(tmp_path, text)
    (tmp_path / "graphs" / "copy.yaml").write_text(text)
    with pytest.raises(EquipmentNotUsable, match="name-twice"):
        opened(**place)


def test_the_packaged_equipment_is_served_by_default(opened: Open) -> None:
    client = opened(equipment=(), packaged=Settings.packaged)
    assert client.get("/v1/equipment").json()["equipment"]
