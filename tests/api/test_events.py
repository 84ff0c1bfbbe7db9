"""Feed and webhooks over HTTP."""

from __future__ import annotations

import time

from fastapi.testclient import TestClient

from tests.api.conftest import COLD, Open
from tests.api.webhooks.subscriber import subscribing


def closed_case(client: TestClient) -> str:
    place = client.post("/v1/cases", json={"equipment": "toy-urn", "complaint": "my name is Ada", "findings": [COLD]})
    path = str(place.headers["location"])
    client.post(f"{path}/findings", json={"findings": [COLD]})
    client.post(f"{path}/closure", json={"found": "unlisted"})
    return path


def test_the_feed_says_what_happened_in_order_and_nothing_of_what_was_said(client: TestClient) -> None:
    path = closed_case(client)
    page = client.get("/v1/events").json()
    assert [e["type"].removeprefix("halfsplit.case.") for e in page["events"]] == ["opened", "findings_added", "closed"]
    assert {e["subject"] for e in page["events"]} == {path} and page["next"] == 3
    assert [e["data"]["version"] for e in page["events"]] == [1, 2, 3]
    assert "Ada" not in str(page)
    assert client.get("/v1/events?after=3").json() == {"events": [], "next": 3}


def test_the_feed_is_read_page_by_page(client: TestClient) -> None:
    closed_case(client)
    first = client.get("/v1/events?limit=2")
    following = first.headers["link"].partition(">")[0][1:]
    assert [e["sequence"] for e in client.get(following).json()["events"]] == ["3"]


def test_a_refused_change_is_no_event(client: TestClient) -> None:
    path = closed_case(client)
    assert client.post(f"{path}/findings", json={"findings": [COLD]}).status_code == 409
    assert client.get("/v1/events").json()["next"] == 3


def test_a_repeated_request_is_one_event(client: TestClient) -> None:
    for _ in range(3):
        client.post("/v1/cases", json={"equipment": "toy-urn"}, headers={"idempotency-key": "once"})
    assert client.get("/v1/events").json()["next"] == 1


def test_a_subscriber_hears_of_a_case(opened: Open) -> None:
    client = opened(local_webhooks=True)
    with subscribing() as there:
        wanted = {"url": there.url, "types": ["halfsplit.case.closed"], "metadata": {"system": "orders"}}
        added = client.post("/v1/webhooks", json=wanted)
        assert added.status_code == 201 and added.json()["secret"].startswith("whsec_")
        closed_case(client)
        hook = added.headers["location"]
        deadline = time.monotonic() + 20
        while not there.came and time.monotonic() < deadline:
            time.sleep(0.02)
        assert len(there.came) == 1
        assert "secret" not in client.get(hook).json()
        assert client.post(f"{hook}/replay", json={"since": 0}).json() == {"queued": 1}
        while len(there.came) < 2 and time.monotonic() < deadline:
            time.sleep(0.02)
        assert client.post(f"{hook}/secret").json()["secret"] != added.json()["secret"]
        off = client.put(hook, json={**wanted, "enabled": False}).json()
        assert off["disabled"] is not None and off["reason"] == "turned off"
        assert client.delete(hook).json()["url"] == there.url and client.get(hook).status_code == 404


def test_a_private_address_is_refused_with_its_reason(client: TestClient) -> None:
    for url in ("https://127.0.0.1/x", "https://localhost/x", "http://hooks.example/x", "https://[::1]/",
                "https://169.254.169.254/latest"):
        answer = client.post("/v1/webhooks", json={"url": url})
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (409, "/url"), url
