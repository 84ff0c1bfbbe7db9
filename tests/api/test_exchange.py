"""Request ids, traces, the log, the figures, the limits, operations on their way out."""

from __future__ import annotations

import logging
import re
from datetime import UTC, datetime
from typing import Any

import orjson
import pytest
from fastapi import APIRouter, Request, Response
from fastapi.testclient import TestClient

from api.app import create_app
from api.documented import PUBLIC, AnswerRoute, going
from api.exchange import LOG
from api.limits import Limits
from api.problems import Refusal
from tests.api.conftest import COLD, Open, authorized, settings

ADVICE = {"equipment": "toy-urn", "findings": [COLD], "budget_ms": 0}
TRACE = "4bf92f3577b34da6a3ce929d0e0e4736"


def test_a_request_keeps_the_name_its_sender_gave_it(client: TestClient) -> None:
    answered = client.post("/v1/advice", json={"equipment": "toy-urm"}, headers={"x-request-id": "desk-7"})
    assert answered.headers["x-request-id"] == answered.json()["request_id"] == "desk-7"
    for wrong in ("a b", "x" * 65, "ä"):
        made_up = client.get("/nothing", headers=[(b"x-request-id", wrong.encode())])
        assert re.fullmatch("[0-9a-f]{16}", made_up.headers["x-request-id"])
        assert made_up.json()["request_id"] == made_up.headers["x-request-id"]


@pytest.mark.parametrize(("given", "kept"), [
    (f"00-{TRACE}-00f067aa0ba902b7-01", True), (f"cc-{TRACE}-00f067aa0ba902b7-01-more", True),
    (f"ff-{TRACE}-00f067aa0ba902b7-01", False), (f"00-{'0' * 32}-00f067aa0ba902b7-01", False),
    (f"00-{TRACE}-{'0' * 16}-01", False), (f"00-{TRACE.upper()}-00f067aa0ba902b7-01", False), ("nonsense", False),
])
def test_a_trace_is_carried_through(client: TestClient, given: str, kept: bool) -> None:
    answered = client.get("/v1/health", headers={"traceparent": given})
    version, trace, span, flags = answered.headers["traceparent"].split("-")
    assert (version, len(span), flags) == ("00", 16, "01" if kept else "00")
    assert (trace == TRACE) == kept
    assert span != "00f067aa0ba902b7"


def test_the_log_has_ids_and_figures_and_nothing_that_was_said(
    opened: Open, caplog: pytest.LogCaptureFixture
) -> None:
    client = opened(open=False)
    header = authorized(client, tenant="acme")
    said = {"equipment": "toy-urn", "complaint": "SECRET WORDS", "external_id": "SECRET WORDS"}
    with caplog.at_level(logging.INFO, logger=LOG.name):
        client.post("/v1/cases?SECRET", json=said, headers={**header, "idempotency-key": "SECRET"})
        client.get("/SECRET", headers={"authorization": "Bearer SECRET"})
    lines = [orjson.loads(r.message) for r in caplog.records if r.name == LOG.name]
    assert [(line["operation"], line["status"], line["tenant"]) for line in lines] == [
        ("openCase", 201, "acme"), ("none", 404, None),
    ]
    assert "SECRET" not in caplog.text
    assert header["authorization"].rsplit("_", 1)[1] not in caplog.text
    assert lines[0]["key"] in header["authorization"]


def test_a_defect_is_logged_by_its_place_alone(
    client: TestClient, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("SECRET inside")

    monkeypatch.setattr("api.routes.advice.question", broken)
    with caplog.at_level(logging.INFO, logger=LOG.name):
        answered = client.post("/v1/advice", json=ADVICE, headers={"x-request-id": "broken"})
    line = orjson.loads([r.message for r in caplog.records if r.name == LOG.name][-1])
    assert (line["request_id"], line["status"]) == ("broken", 500)
    assert "RuntimeError at test_exchange.py" in line["failure"]
    assert "SECRET" not in line["failure"]
    assert answered.headers["x-request-id"] == "broken"


def test_figures_are_read_with_a_scope_of_their_own(opened: Open) -> None:
    client = opened(open=False)
    assert client.get("/metrics").status_code == 401
    header = authorized(client)
    assert client.get("/metrics", headers=header).status_code == 403, "admin of a tenant, not of the service"
    client.post("/v1/cases", json={"equipment": "toy-urn"}, headers=header)
    client.get("/v1/equipment/nothing", headers=header)
    figures = client.get("/metrics", headers=authorized(client, "metrics:read")).text
    for line in ('halfsplit_requests_total{operation="openCase",status="201"} 1.0',
                 'halfsplit_requests_total{operation="readEquipment",status="404"} 1.0',
                 'halfsplit_request_seconds_count{operation="openCase"} 1.0',
                 'halfsplit_changes_total{kind="case.opened"} 1.0'):
        assert line in figures


class Stopwatch:
    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


def test_a_key_has_its_share_all_at_once_or_evenly() -> None:
    time = Stopwatch()
    limits = Limits(60, 60, time)
    assert limits.take("one", 60)["ratelimit"] == '"key";r=0;t=60'
    with pytest.raises(Refusal) as caught:
        limits.take("one")
    assert caught.value.headers["retry-after"] == "1"
    assert limits.take("two")["ratelimit"] == '"key";r=59;t=1'
    for _ in range(100):
        time.now += 1
        limits.take("one")
    time.now += 10
    with pytest.raises(Refusal) as caught:
        limits.take("one", 50)
    assert caught.value.headers["retry-after"] == "40"
    time.now += 3600
    assert limits.take("one", 60)["ratelimit"].startswith('"key";r=0')


def test_past_its_share_a_key_waits_and_others_do_not(opened: Open) -> None:
    client = opened(open=False, quota=3)
    one, two = authorized(client), authorized(client)
    first = client.post("/v1/advice", json=ADVICE, headers=one)
    assert (first.headers["ratelimit-policy"], first.headers["ratelimit"]) == ('"key";q=3;w=60', '"key";r=2;t=20')
    assert client.post("/v1/advice/batches", json={"items": [ADVICE, ADVICE]}, headers=one).status_code == 200
    waits = client.post("/v1/advice", json=ADVICE, headers=one)
    assert (waits.status_code, waits.json()["type"]) == (429, "/problems/too-many-requests")
    assert int(waits.headers["retry-after"]) in (19, 20)
    assert client.post("/v1/advice", json=ADVICE, headers=two).status_code == 200
    assert client.get("/v1/health").status_code == 200


def test_each_item_of_a_batch_is_answered_for_itself(client: TestClient) -> None:
    items: list[Any] = [
        ADVICE, {**ADVICE, "equipment": "toy-urm"}, {**ADVICE, "findngs": []}, {},
        {**ADVICE, "findings": [{"about": "water_cld", "outcome": "present"}]}, {"document": {}},
    ]
    answered = client.post("/v1/advice/batches", json={"items": items})
    assert answered.status_code == 200
    said = answered.json()["items"]
    assert [item["status"] for item in said] == [200, 404, 422, 422, 404, 422]
    assert said[0]["answer"] == client.post("/v1/advice", json=ADVICE).json()
    assert said[0]["problem"] is None
    assert said[1]["problem"]["instance"] == "/v1/advice/batches#/items/1"
    assert said[2]["problem"]["errors"][0]["nearest"] == "findings"
    assert said[4]["problem"]["errors"][0]["nearest"] == "water_cold"
    refused: list[Any] = [{"items": []}, {"items": [ADVICE] * 51}, {"items": [1]}, {}]
    for wrong in refused:
        assert client.post("/v1/advice/batches", json=wrong).status_code == 422


def test_an_operation_on_its_way_out_says_so_in_every_answer() -> None:
    router = APIRouter(route_class=AnswerRoute)
    since, until = datetime(2026, 3, 2, tzinfo=UTC), datetime(2027, 3, 2, tzinfo=UTC)

    leaving = {**PUBLIC, **going(since, until, "/reference#readNew")}

    @router.get("/v1/old", operation_id="readOld", openapi_extra=leaving)
    async def read_old(request: Request) -> Response:
        if request.query_params:
            raise Refusal("bad-request", "no parameters here")
        return Response("{}")

    app = create_app(settings())
    app.include_router(router)
    with TestClient(app) as client:
        for address, status in (("/v1/old", 200), ("/v1/old?a=1", 400)):
            answered = client.get(address)
            assert answered.status_code == status
            assert answered.headers["deprecation"] == "@1772409600"
            assert answered.headers["sunset"] == "Tue, 02 Mar 2027 00:00:00 GMT"
            assert answered.headers["link"] == '</reference#readNew>; rel="deprecation"'
        assert "deprecation" not in client.get("/v1/health").headers


def test_changes_can_be_followed_through_the_pages(client: TestClient) -> None:
    cases = [client.post("/v1/cases", json={"equipment": "toy-urn"}).headers["location"] for _ in range(5)]
    start = client.get(cases[0]).json()["created"]
    client.post(f"{cases[1]}/findings", json={"findings": [COLD]})
    address, seen = f"/v1/cases?limit=2&changed_since={start}", []
    page: dict[str, Any] = {}
    while address:
        response = client.get(address)
        page = response.json()
        seen += [c["id"] for c in page["cases"]]
        address = response.headers.get("link", "").partition(">")[0][1:]
    assert seen[-1] == cases[1].rsplit("/", 1)[1]
    assert sorted(seen) == sorted(c.rsplit("/", 1)[1] for c in cases)
    client.post(f"{cases[2]}/closure", json={"found": "unlisted"})
    later = client.get("/v1/cases", params={"changed_since": page["changed_since"]}).json()["cases"]
    assert [c["id"] for c in later][-1] == cases[2].rsplit("/", 1)[1]
    assert len(later) <= 2
    for wrong in ("yesterday", "2026-02-30T00:00:00Z", "0001-01-01T00:00:00+23:59", "2026-02-03T00:00:00"):
        assert client.get("/v1/cases", params={"changed_since": wrong}).status_code == 422
