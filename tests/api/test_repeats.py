"""Requests that come again: carried out once, answered alike."""

from __future__ import annotations

import asyncio
from collections import Counter
from collections.abc import Iterator
from typing import Any

import orjson
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import func, select

from api.app import create_app
from api.changes import KEPT
from api.database import Database, open_database
from api.in_process import call
from api.problems import Refusal
from api.storage import repeats
from api.tables import finding, repeat, service_case
from tests.api.conftest import COLD, authorized, settings
from tests.api.walking import operations
from tests.postgresql import new_database

OPEN = {"equipment": "toy-urn", "findings": [COLD]}
DARK = {"findings": [{"about": "supply_lamp", "outcome": "dark"}]}


def keyed(name: str, **more: str) -> dict[str, str]:
    return {"idempotency-key": name, **more}


@pytest.fixture
def served(database: Database) -> Iterator[TestClient]:
    """An open service on a database of each kind."""
    with TestClient(create_app(settings(), database=database), raise_server_exceptions=False) as client:
        yield client


def count(database: Database, table: Any) -> int:
    with database.reading() as db:
        return int(db.execute(select(func.count()).select_from(table)).scalar_one())


def test_a_request_that_comes_again_is_answered_to_the_byte(served: TestClient, database: Database) -> None:
    first = served.post("/v1/cases", json=OPEN, headers=keyed("one"))
    again = served.post("/v1/cases", json=OPEN, headers=keyed("one"))
    assert first.status_code == again.status_code == 201
    assert again.content == first.content
    for name in ("etag", "location", "content-type"):
        assert again.headers[name] == first.headers[name]
    assert count(database, service_case) == 1
    address = first.headers["location"]
    added = served.post(f"{address}/findings", json=DARK, headers=keyed("two", **{"if-match": '"1"'}))
    later = served.post(f"{address}/findings", json=DARK, headers=keyed("two", **{"if-match": '"1"'}))
    assert (added.status_code, later.status_code) == (201, 201), "the version it names has gone, its answer has not"
    assert later.content == added.content
    closed = served.post(f"{address}/closure", json={"found": "unlisted"}, headers=keyed("three"))
    late = served.post(f"{address}/closure", json={"found": "unlisted"}, headers=keyed("three"))
    assert late.content == closed.content
    assert served.post(f"{address}/findings", json=DARK, headers=keyed("two")).content == added.content
    assert count(database, finding) == 2


def test_a_key_stands_for_one_request(served: TestClient) -> None:
    one, two = (served.post("/v1/cases", json=OPEN).headers["location"] for _ in range(2))
    assert served.post(f"{one}/findings", json=DARK, headers=keyed("k")).status_code == 201
    for address, body in ((one, {"findings": [COLD]}), (two, DARK)):
        other = served.post(f"{address}/findings", json=body, headers=keyed("k"))
        assert (other.status_code, other.json()["type"]) == (422, "/problems/key-reused")
    assert served.post(f"{one}/closure", json={"found": "unlisted"}, headers=keyed("k")).status_code == 201, \
        "another operation has keys of its own"


def test_tenants_have_keys_of_their_own(served: TestClient, database: Database) -> None:
    for tenant in ("one", "two"):
        answered = served.post("/v1/cases", json=OPEN, headers=keyed("same", **authorized(served, tenant=tenant)))
        assert answered.status_code == 201
    assert count(database, service_case) == 2


def test_a_refused_request_may_be_put_right_under_the_same_key(served: TestClient, database: Database) -> None:
    wrong = served.post("/v1/cases", json={**OPEN, "equipment": "toy-urm"}, headers=keyed("k"))
    assert wrong.status_code == 404
    assert count(database, repeat) == 0
    assert served.post("/v1/cases", json=OPEN, headers=keyed("k")).status_code == 201


def test_one_under_way_is_said_to_be(served: TestClient) -> None:
    under_way = served.app.state.service.under_way  # type: ignore[attr-defined]
    under_way.add(("default", "openCase", "k"))
    waits = served.post("/v1/cases", json=OPEN, headers=keyed("k"))
    assert (waits.status_code, waits.json()["type"], waits.headers["retry-after"]) == (409, "/problems/in-flight", "1")
    under_way.clear()
    assert served.post("/v1/cases", json=OPEN, headers=keyed("k")).status_code == 201
    assert under_way == set()


def test_one_under_way_in_another_process_is_said_to_be(postgresql_socket: str) -> None:
    with new_database(postgresql_socket) as url:
        one, two = open_database(url), open_database(url)
        request = repeats.Repeatable("default", "openCase", "k", "f")
        with one.writing() as db:
            repeats.claim(db, request)
            with pytest.raises(Refusal, match="has not ended yet"):
                two.write(lambda other: repeats.claim(other, request))
        two.write(lambda other: repeats.claim(other, request))
        one.close()
        two.close()


@pytest.mark.parametrize("key", ["", "x" * 201, "two words", "a\tb"])
def test_a_key_that_cannot_be_used_is_refused(client: TestClient, key: str) -> None:
    refused = client.post("/v1/cases", json=OPEN, headers=keyed(key))
    assert (refused.status_code, refused.json()["type"]) == (400, "/problems/bad-idempotency-key")


def test_every_post_that_stores_takes_a_key() -> None:
    stores = {o.name for o in operations() if o.method == "post" and {"201", "202"} & set(o.described["responses"])}
    takes = {
        o.name for o in operations()
        if any(p["name"] == "Idempotency-Key" for p in o.described.get("parameters", ()))
    }
    assert stores == takes
    assert {"openCase", "addFindings", "withdrawFinding", "closeCase", "publishRevision"} <= stores


def test_answers_are_forgotten_after_a_while(database: Database) -> None:
    request = repeats.Repeatable("default", "openCase", "k", "f")
    reply = repeats.Reply(201, {}, b"{}")
    database.write(lambda db: repeats.keep(db, request, reply, "2026-03-02T08:15:00.000Z"))
    assert KEPT.days == 7
    database.write(lambda db: repeats.forget(db, "2026-03-02T08:15:00.000Z"))
    assert database.read(lambda db: repeats.find(db, request)) == reply
    database.write(lambda db: repeats.forget(db, "2026-03-02T08:15:00.001Z"))
    assert database.read(lambda db: repeats.find(db, request)) is None


async def _hammer(app: FastAPI, address: str, clients: int, keys: int) -> list[tuple[int, bytes]]:
    """Every client adds a finding under each key, and sets out from what it has read with If-Match."""
    async def one(number: int) -> list[tuple[int, bytes]]:
        answers = []
        for key in range(keys):
            body = orjson.dumps({"findings": [{**COLD, "note": f"key {key}"}]})
            headers = {"content-type": "application/json", "idempotency-key": f"key-{key}"}
            answers.append(await call(app, "POST", f"{address}/findings", headers, body))
        held = {"content-type": "application/json", "if-match": f'"{keys + 1}"', "idempotency-key": f"own-{number}"}
        body = orjson.dumps({"findings": [{**COLD, "note": "if nobody else"}]})
        answers.append(await call(app, "POST", f"{address}/findings", held, body))
        return answers

    return [answer for answers in await asyncio.gather(*map(one, range(clients))) for answer in answers]


def test_many_clients_at_one_case_have_each_effect_once(served: TestClient) -> None:
    clients, keys = 32, 3
    address = served.post("/v1/cases", json={"equipment": "toy-urn"}).headers["location"]
    app: Any = served.app
    answers = asyncio.run(_hammer(app, address, clients, keys))
    kinds = Counter(status for status, _ in answers)
    assert set(kinds) <= {201, 409, 412}
    case = served.get(address).json()
    notes = Counter(f["note"] for f in case["findings"])
    assert notes == {**{f"key {key}": 1 for key in range(keys)}, "if nobody else": 1}
    assert case["version"] == keys + 2
    for key in range(keys):
        said = {body for status, body in answers if status == 201 and orjson.loads(body)["version"] == key + 2}
        assert len(said) == 1
    assert sum(status == 201 and orjson.loads(body)["version"] == keys + 2 for status, body in answers) == 1
