"""Finished jobs over HTTP: out, in, and out again."""

from __future__ import annotations

from typing import Any

import pytest
from fastapi.testclient import TestClient

from tests.api.conftest import COLD

READING = {"about": "feel_water", "outcome": "cold"}


@pytest.fixture
def closed(client: TestClient) -> str:
    """The address of a closed case with a withdrawn finding."""
    opened = client.post("/v1/cases", json={
        "equipment": "toy-urn", "complaint": "cold tea", "external_id": "WO-1", "findings": [COLD, COLD],
        "unit": {"serial": "U-7"}})
    path = str(opened.headers["location"])
    client.post(f"{path}/findings/2/withdrawal", json={"reason": "said twice"})
    modes = client.get("/v1/cases/" + opened.json()["id"] + "/suspects").json()["suspects"]
    document = client.get("/v1/equipment/toy-urn/document").json()
    remedy = next(iter(document["remedies"]))
    answer = client.post(f"{path}/closure", json={
        "found": [modes[0]["failure_mode"]], "remedies": [remedy], "minutes": 25, "note": "=runs", "by": "N. Fitter",
        "parts": {next(iter(document["parts"])): 2}})
    assert answer.status_code == 201, answer.text
    return path


def test_a_closed_case_hands_over_what_was_found_and_done(client: TestClient, closed: str) -> None:
    record = client.get(f"{closed}/closeout").json()
    assert (record["external_id"], record["problem"], record["unit"]["serial"]) == ("WO-1", "cold tea", "U-7")
    assert [f["about"] for f in record["findings"]] == ["water_cold"]
    assert record["cause_titles"][0] and record["activities"][0]["title"] and record["spare_parts"][0]["number"]
    assert record["spare_parts"][0]["quantity"] == 2 and record["active_minutes"] == 25


def test_an_open_case_has_nothing_to_hand_over(client: TestClient, case: str) -> None:
    assert client.get(f"{case}/closeout").json()["type"] == "/problems/case-open"


def elsewhere(record: dict[str, Any], **changed: Any) -> dict[str, Any]:
    return {**record, "case": None, "external_id": "OLD-9", **changed}


def test_history_comes_back_as_it_went_out_and_once(client: TestClient, closed: str) -> None:
    record = client.get(f"{closed}/closeout").json()
    sent = {"closeouts": [elsewhere(record, opened="2019-04-01T07:00:00Z", closed="2019-04-01T08:30:00Z")]}
    first = client.post("/v1/closeouts", json=sent)
    assert first.status_code == 201 and len(first.json()["imported"]) == 1
    assert client.post("/v1/closeouts", json=sent).json() == {"imported": [], "known": first.json()["imported"]}
    assert client.post("/v1/closeouts", json={"closeouts": [record]}).json()["known"] == [record["case"]]
    back = client.get(f"/v1/cases/{first.json()['imported'][0]}/closeout").json()
    assert {**back, "case": None} == {**sent["closeouts"][0]}
    assert client.get("/v1/events").json()["events"][-1]["type"] == "halfsplit.case.imported"


def test_a_table_goes_out_and_comes_in(client: TestClient, closed: str) -> None:
    table = client.get("/v1/closeouts?form=csv")
    assert table.headers["content-type"].startswith("text/csv") and "'=runs" in table.text
    sent = table.text.replace("WO-1", "OLD-1").replace(closed.rpartition("/")[2], "")
    answer = client.post("/v1/closeout-tables", content=sent, headers={"content-type": "text/csv"})
    assert answer.status_code == 201, answer.text
    page = client.get("/v1/closeouts").json()["closeouts"]
    assert [r["external_id"] for r in page] == ["OLD-1", "WO-1"]
    same = ("problem", "findings", "cause", "activities", "spare_parts", "active_minutes", "note", "by", "unit",
            "closed")
    assert {n: page[0][n] for n in same} == {n: page[1][n] for n in same}


def test_one_misfit_and_nothing_is_stored(client: TestClient, closed: str) -> None:
    record = client.get(f"{closed}/closeout").json()
    bad = elsewhere(record, cause=["thermostat.stuck"], findings=[{"about": "water_colt", "outcome": "present"}])
    answer = client.post("/v1/closeouts", json={"closeouts": [elsewhere(record), bad]})
    assert answer.status_code == 409 and answer.json()["type"] == "/problems/closeouts-misfit"
    assert [e["pointer"] for e in answer.json()["errors"]] == [
        "/closeouts/1/findings/0/about", "/closeouts/1/cause/0"]
    assert answer.json()["errors"][0]["nearest"] == "water_cold"
    assert len(client.get("/v1/closeouts").json()["closeouts"]) == 1


@pytest.mark.parametrize(("body", "code"), [
    (b"\xff\xfe", "not-a-table"), (b"a,b\n1,2\n", "not-a-table"), (b"", "not-a-table"),
    (b"equipment,opened,closed,cause\ntoy-urn,yesterday,today,unlisted\n", "not-a-table"),
    (b"equipment,opened,closed,cause\nnone,2019-04-01T07:00:00Z,2019-04-01T07:00:00Z,unlisted\n", "unknown-equipment"),
])
def test_a_table_that_does_not_fit(client: TestClient, body: bytes, code: str) -> None:
    answer = client.post("/v1/closeout-tables", content=body, headers={"content-type": "text/csv"})
    assert answer.json()["type"] == f"/problems/{code}", answer.text


def test_finished_jobs_are_listed_page_by_page(client: TestClient, closed: str) -> None:
    record = client.get(f"{closed}/closeout").json()
    client.post("/v1/closeouts", json={"closeouts": [elsewhere(record, external_id=f"OLD-{i}") for i in range(4)]})
    seen, place = [], "/v1/closeouts?limit=2"
    while place:
        answer = client.get(place)
        seen += [r["external_id"] for r in answer.json()["closeouts"]]
        place = answer.headers.get("link", "").partition(">")[0][1:]
    assert sorted(seen[:4]) == ["OLD-0", "OLD-1", "OLD-2", "OLD-3"] and seen[4:] == ["WO-1"]
