"""Graphs of a tenant's own, and figures laid over a graph."""

from __future__ import annotations

import asyncio
from typing import Any

import orjson
import pytest
from fastapi.testclient import TestClient

from tests.api.conftest import COLD, Open, authorized

ADVICE = {"equipment": "toy-urn", "findings": [COLD], "budget_ms": 0}
URN = "/v1/equipment/toy-urn"
FIRST = {"if-none-match": "*"}


def document(client: TestClient, **changes: float) -> dict[str, Any]:
    found: dict[str, Any] = client.get(f"{URN}/document").json()
    for name, rate in changes.items():
        found["components"]["thermostat"]["failure_modes"][name]["calls_per_thousand"] = rate
    return found


def tag(client: TestClient, **headers: str) -> dict[str, str]:
    return {"if-match": client.get(f"{URN}/document", headers=headers).headers["etag"]}


def first(client: TestClient, headers: dict[str, str]) -> Any:
    """The likeliest suspect and its chance, and the graph they rest on."""
    said = client.post("/v1/advice", json=ADVICE, headers=headers).json()
    suspect = said["advice"]["suspects"][0]
    return suspect["failure_mode"], suspect["chance"], said["graph"]


def test_a_revision_is_the_tenants_alone_and_cases_keep_theirs(client: TestClient) -> None:
    mine, theirs = authorized(client, tenant="mine"), authorized(client, tenant="theirs")
    before = first(client, mine)
    old = client.post("/v1/cases", json={"equipment": "toy-urn", "findings": [COLD]}, headers=mine).headers["location"]
    advice = client.get(f"{old}/advice", headers=mine).content
    published = client.post(
        f"{URN}/revisions?note=ours", json=document(client, stuck_open=900), headers={**mine, **tag(client)}
    )
    assert published.status_code == 201, published.text
    line = published.json()["revision"]
    assert (line["revision"], line["note"], published.json()["published"]) == (2, "ours", True)
    assert published.headers["etag"] == f'"{line["digest"]}"'
    after = first(client, mine)
    assert after[1] > before[1]
    assert after[2]["digest"] == line["digest"]
    assert first(client, theirs) == before
    assert client.get(f"{old}/advice", headers=mine).content == advice
    new = client.post("/v1/cases", json={"equipment": "toy-urn"}, headers=mine).json()
    assert new["graph"]["revision"] == 2
    assert client.get(published.headers["location"], headers=mine).json() == document(client, stuck_open=900)
    gone = client.get(published.headers["location"], headers=theirs)
    assert (gone.status_code, gone.json()["type"]) == (404, "/problems/unknown-revision")


def test_a_family_of_a_tenants_own_is_nobody_elses(client: TestClient) -> None:
    mine, theirs = authorized(client, tenant="mine"), authorized(client, tenant="theirs")
    own = document(client)
    own["equipment"]["id"] = "our-urn"
    assert client.post("/v1/equipment/our-urn/revisions", json=own, headers={**mine, **FIRST}).status_code == 201
    for path in ("", "/document", "/symptoms", "/revisions", "/overlay"):
        assert client.get(f"/v1/equipment/our-urn{path}", headers=mine).status_code == 200, path
        assert client.get(f"/v1/equipment/our-urn{path}", headers=theirs).status_code == 404, path
    listed = [e["id"] for e in client.get("/v1/equipment", headers=mine).json()["equipment"]]
    assert listed == ["our-urn", "toy-urn"]
    refused = client.post("/v1/cases", json={"equipment": "our-urn"}, headers=theirs)
    assert (refused.status_code, refused.json()["type"]) == (404, "/problems/unknown-equipment")
    assert refused.json()["errors"][0]["nearest"] == "toy-urn"


@pytest.mark.parametrize(("headers", "status", "kind"), [
    ({}, 428, "precondition-required"), ({"if-match": '"old"'}, 412, "revision-changed"),
    (FIRST, 412, "revision-changed"), ({"if-match": "*"}, 201, None),
])
def test_a_revision_says_what_it_follows(
    client: TestClient, headers: dict[str, str], status: int, kind: str | None
) -> None:
    answered = client.post(f"{URN}/revisions", json=document(client, stuck_open=9), headers=headers)
    assert answered.status_code == status
    assert kind is None or answered.json()["type"] == f"/problems/{kind}"


def test_the_first_of_a_family_has_nothing_to_follow(client: TestClient) -> None:
    own = document(client)
    own["equipment"]["id"] = "our-urn"
    for headers, status in (({}, 428), ({"if-match": "*"}, 412), (FIRST, 201), (FIRST, 412)):
        assert client.post("/v1/equipment/our-urn/revisions", json=own, headers=headers).status_code == status


def test_a_dry_run_checks_everything_and_stores_nothing(client: TestClient) -> None:
    tried = client.post(f"{URN}/revisions?dry_run=true", json=document(client, stuck_open=9), headers=tag(client))
    assert (tried.status_code, tried.json()["published"]) == (200, False)
    assert tried.json()["counts"]["failure_modes"] > 0
    assert client.get(f"{URN}/revisions").json() == {"revisions": [], "next": None}
    assert client.get(URN).json()["revision"] == 1
    stale = client.post(f"{URN}/revisions?dry_run=true", json=document(client), headers={"if-match": '"old"'})
    assert stale.status_code == 412


def test_what_can_not_be_used_is_not_published(client: TestClient) -> None:
    broken = document(client)
    broken["tests"]["bridge_thermostat"]["reveals"] = "thermostt"
    refused = client.post(f"{URN}/revisions", json=broken, headers={"if-match": "*"})
    assert (refused.status_code, refused.json()["type"]) == (409, "/problems/graph-not-usable")
    assert refused.json()["errors"][0]["nearest"] == "thermostat"
    elsewhere = client.post("/v1/equipment/other/revisions", json=document(client), headers=FIRST)
    assert (elsewhere.status_code, elsewhere.json()["type"]) == (409, "/problems/equipment-mismatch")
    assert client.get(f"{URN}/revisions").json()["revisions"] == []


def test_revisions_are_listed_newest_first_and_in_pages(client: TestClient) -> None:
    for rate in (5, 6, 7):
        client.post(f"{URN}/revisions", json=document(client, stuck_open=rate), headers=tag(client))
    page = client.get(f"{URN}/revisions?limit=2").json()
    assert [r["revision"] for r in page["revisions"]] == [4, 3]
    assert [r["revision"] for r in client.get(f"{URN}/revisions?cursor={page['next']}").json()["revisions"]] == [2]


RATES = {"calls_per_thousand": {"thermostat.stuck_open": 900}, "prices": {"thermostat_kit": 99}}


def test_rates_and_prices_of_ones_own_need_no_graph_of_ones_own(client: TestClient) -> None:
    mine, theirs = authorized(client, tenant="mine"), authorized(client, tenant="theirs")
    before = first(client, mine)
    case = client.post("/v1/cases", json={"equipment": "toy-urn", "findings": [COLD]}, headers=mine).headers["location"]
    assert client.get(f"{URN}/overlay", headers=mine).json()["number"] == 0
    laid = client.put(f"{URN}/overlay", json=RATES, headers={**mine, "if-match": '"0"'})
    assert (laid.status_code, laid.json()["number"]) == (200, 1)
    assert client.get(f"{URN}/overlay", headers=mine).json() == {**laid.json(), "unused": []}
    after = first(client, mine)
    assert after[1] > before[1]
    assert (after[2]["revision"], after[2]["overlay"]) == (1, 1)
    assert after[2]["digest"] != before[2]["digest"]
    assert first(client, theirs) == before
    kept = client.get(case, headers=mine).json()["graph"]
    assert kept == before[2]
    new = client.post("/v1/cases", json={"equipment": "toy-urn"}, headers=mine)
    assert new.json()["graph"] == after[2]
    assert client.get(f"{new.headers['location']}/advice", headers=mine).status_code == 200
    parts = client.get(f"{new.headers['location']}/parts", headers=mine).json()["parts"]
    assert next(p["price"] for p in parts if p["part"] == "thermostat_kit") == 99
    stale = client.put(f"{URN}/overlay", json={}, headers={**mine, "if-match": '"0"'})
    assert (stale.status_code, stale.json()["type"]) == (412, "/problems/revision-changed")
    assert client.put(f"{URN}/overlay", json={}, headers={**mine, "if-match": '"1"'}).json()["number"] == 2
    assert first(client, mine)[:2] == before[:2]


def test_an_overlay_stays_when_the_graph_is_revised(client: TestClient) -> None:
    client.put(f"{URN}/overlay", json=RATES, headers={"if-match": "*"})
    revised = document(client, stuck_open=1)
    del revised["parts"]["thermostat_kit"]
    text = orjson.dumps(revised).replace(b'"thermostat_kit"', b'"thermostat_set"')
    revised = orjson.loads(text)
    revised["parts"]["thermostat_set"] = document(client)["parts"]["thermostat_kit"]
    published = client.post(f"{URN}/revisions", json=revised, headers=tag(client))
    assert published.status_code == 201, published.text
    assert client.get(f"{URN}/overlay").json()["unused"] == ["thermostat_kit"]
    case = client.post("/v1/cases", json={"equipment": "toy-urn", "findings": [COLD]}).json()["graph"]
    assert (case["revision"], case["overlay"]) == (2, 1)
    assert first(client, {})[0] == "thermostat.stuck_open", "the overlay's rate, not the revision's"


@pytest.mark.parametrize(("body", "pointer", "nearest"), [
    ({"calls_per_thousand": {"thermostat.stuck": 5}}, "/calls_per_thousand/thermostat.stuck", "thermostat.stuck_open"),
    ({"prices": {"thermostat_kt": 5}}, "/prices/thermostat_kt", "thermostat_kit"),
])
def test_an_overlay_names_what_the_graph_has(
    client: TestClient, body: dict[str, Any], pointer: str, nearest: str
) -> None:
    refused = client.put(f"{URN}/overlay", json=body, headers={"if-match": "*"})
    assert refused.status_code == 404
    assert (refused.json()["errors"][0]["pointer"], refused.json()["errors"][0]["nearest"]) == (pointer, nearest)


def test_revisions_and_overlays_outlast_the_process(database_url: str, opened: Open) -> None:
    one = opened(database=database_url)
    one.put(f"{URN}/overlay", json=RATES, headers={"if-match": "*"})
    one.post(f"{URN}/revisions", json=document(one, drops_out=333), headers=tag(one))
    case = one.post("/v1/cases", json={"equipment": "toy-urn", "findings": [COLD]}).headers["location"]
    said, advice = first(one, {}), one.get(f"{case}/advice").content
    two = opened(database=database_url)
    assert two.get(f"{case}/advice").content == advice
    assert first(two, {}) == said


def test_a_publication_while_others_look_is_seen_by_whoever_looks_next(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    service = client.app.state.service  # type: ignore[attr-defined]
    own, follows = document(client, stuck_open=9), tag(client)
    asyncio.run(service.catalog.published("default"))
    read = service.database.read

    def overtaken(work: Any) -> Any:
        found = read(work)
        monkeypatch.undo()
        assert client.post(f"{URN}/revisions", json=own, headers=follows).status_code == 201
        return found

    monkeypatch.setattr(service.database, "read", overtaken)
    assert asyncio.run(service.catalog.of("default", "toy-urn")).stamp.revision == 1
    assert first(client, {})[2]["revision"] == 2
