"""Who may do what. The operations come from the OpenAPI document, so that none can be left out."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from fastapi import APIRouter, FastAPI
from fastapi.testclient import TestClient

from api.access import SCOPES, Doorkeeper, make_key, rotate_key
from api.app import create_app
from api.clock import utc_now
from api.database import Database
from api.documented import AnswerRoute
from api.storage import keys
from tests.api.conftest import COLD, Open, authorized, settings
from tests.api.walking import Operation, operations

ADVICE = {"equipment": "toy-urn", "findings": [COLD], "budget_ms": 0}
OPERATIONS = operations()
GUARDED = [o for o in OPERATIONS if o.scope is not None]
NAMES = [o.name for o in GUARDED]


NAMES_SOMETHING_NEW = {"publishRevision"}
"""Two tenants may each have an equipment of one name; that neither sees the other's is tested with revisions."""


@pytest.fixture(scope="module")
def shut() -> Iterator[TestClient]:
    """A service that wants keys."""
    with TestClient(create_app(settings(open=False)), raise_server_exceptions=False) as client:
        yield client


@pytest.fixture(scope="module")
def theirs(shut: TestClient) -> dict[str, str]:
    """What another tenant has, by the name of the parameter that would name it."""
    header = authorized(shut, tenant="theirs")
    case = shut.post("/v1/cases", json={"equipment": "toy-urn", "findings": [COLD]}, headers=header).json()["id"]
    own = shut.get("/v1/equipment/toy-urn/document", headers=header).json()
    own["equipment"]["id"] = "their-urn"
    first = {**header, "if-none-match": "*"}
    assert shut.post("/v1/equipment/their-urn/revisions", json=own, headers=first).status_code == 201
    return {"case_id": case, "equipment_id": "their-urn"}


def test_every_operation_says_which_scope_it_needs() -> None:
    assert {o.scope for o in GUARDED} <= set(SCOPES)
    assert {o.name for o in OPERATIONS if o.scope is None} == {"readHealth", "readReadiness", "readGraphSchema"}
    with pytest.raises(TypeError, match="say what the operation needs"):
        APIRouter(route_class=AnswerRoute).get("/v1/forgotten")(lambda: None)


@pytest.mark.parametrize("operation", GUARDED, ids=NAMES)
def test_without_a_key_nothing_is_answered(shut: TestClient, theirs: dict[str, str], operation: Operation) -> None:
    refused = operation.sent(shut, theirs, {})
    assert (refused.status_code, refused.json()["type"]) == (401, "/problems/no-key")
    assert refused.headers["www-authenticate"].startswith("Bearer")


@pytest.mark.parametrize("operation", GUARDED, ids=NAMES)
def test_without_its_scope_nothing_is_answered(shut: TestClient, theirs: dict[str, str], operation: Operation) -> None:
    others = [s for s in SCOPES if s not in (operation.scope, "admin")]
    refused = operation.sent(shut, theirs, authorized(shut, *others, tenant="theirs"))
    assert (refused.status_code, refused.json()["type"]) == (403, "/problems/scope-missing")
    assert str(operation.scope) in refused.json()["detail"]


@pytest.mark.parametrize("operation", GUARDED, ids=NAMES)
def test_its_scope_alone_is_enough(shut: TestClient, theirs: dict[str, str], operation: Operation) -> None:
    allowed = operation.sent(shut, theirs, authorized(shut, str(operation.scope), tenant="theirs"))
    assert allowed.status_code not in (401, 403)


@pytest.mark.parametrize("operation", GUARDED, ids=NAMES)
def test_what_another_tenant_has_is_not_there(
    shut: TestClient, theirs: dict[str, str], operation: Operation
) -> None:
    answered = operation.sent(shut, theirs, authorized(shut, tenant="mine"))
    if operation.name in NAMES_SOMETHING_NEW:
        assert answered.status_code in (201, 409)
    elif operation.names_any_of(theirs):
        assert answered.status_code == 404, answered.text
    else:
        assert not any(name in answered.text for name in theirs.values())


def test_a_case_in_a_van_load_is_the_callers_own(shut: TestClient, theirs: dict[str, str]) -> None:
    load = {"jobs": [{"case": theirs["case_id"]}]}
    assert shut.post("/v1/van-loads", json=load, headers=authorized(shut, tenant="mine")).status_code == 404
    assert shut.post("/v1/van-loads", json=load, headers=authorized(shut, tenant="theirs")).status_code == 200


@pytest.mark.parametrize("header", [
    "", "Bearer", "Bearer ", "Basic aHM6aHM=", "Bearer hs_0000000000_" + "a" * 43, "Bearer " + "x" * 5000, "Bearer ü",
])
def test_what_is_no_key_opens_nothing(shut: TestClient, header: str) -> None:
    refused = shut.post("/v1/advice", json=ADVICE, headers=[(b"authorization", header.encode("latin-1"))])
    assert (refused.status_code, refused.json()["type"]) == (401, "/problems/no-key")


def test_a_key_with_another_secret_opens_nothing(shut: TestClient) -> None:
    good = authorized(shut)["authorization"]
    last = "A" if good[-1] != "A" else "B"
    assert shut.post("/v1/advice", json=ADVICE, headers={"authorization": good}).status_code == 200
    assert shut.post("/v1/advice", json=ADVICE, headers={"authorization": good[:-1] + last}).status_code == 401


def test_an_open_service_still_looks_at_keys(opened: Open) -> None:
    client = opened(open=True)
    assert client.post("/v1/advice", json=ADVICE).status_code == 200
    assert client.post("/v1/advice", json=ADVICE, headers={"authorization": "Bearer wrong"}).status_code == 401


@pytest.mark.parametrize("host", ["0.0.0.0", "192.0.2.7", "::", "example.org"])
def test_an_open_service_listens_to_its_own_machine_alone(host: str) -> None:
    with pytest.raises(ValueError, match="lets anybody in"):
        create_app(settings(host=host))


class Time:
    """A clock and a stopwatch that a test moves."""

    def __init__(self) -> None:
        self.moment = datetime(2026, 3, 2, 8, 15, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.moment

    def monotonic(self) -> float:
        return self.moment.timestamp()

    def passes(self, seconds: float) -> None:
        self.moment += timedelta(seconds=seconds)


def guarded(database: Database, time: Time) -> TestClient:
    """A service whose doorkeeper has a clock of the test's."""
    app: FastAPI = create_app(settings(open=False), database=database, clock=time)
    app.state.service.doorkeeper = Doorkeeper(database, time, seconds=3, monotonic=time.monotonic)
    return TestClient(app)


def status(client: TestClient, key: str) -> int:
    return client.post("/v1/advice", json=ADVICE, headers={"authorization": f"Bearer {key}"}).status_code


def test_a_revoked_key_is_refused_within_seconds(database: Database) -> None:
    time = Time()
    client, key = guarded(database, time), make_key(database, time)
    assert status(client, key.text) == 200
    assert database.write(lambda db: keys.revoke(db, key.record.id, "2026-03-02T08:15:01.000Z"))
    time.passes(3.1)
    assert status(client, key.text) == 401
    assert not database.write(lambda db: keys.revoke(db, key.record.id, "later"))


def test_a_key_ends_when_it_says(database: Database) -> None:
    time = Time()
    client, key = guarded(database, time), make_key(database, time, days=1)
    time.passes(86_000)
    assert status(client, key.text) == 200
    time.passes(404)
    assert status(client, key.text) == 401


def test_a_rotated_key_and_its_successor_overlap(database: Database) -> None:
    time = Time()
    client, old = guarded(database, time), make_key(database, time, "acme", ["advice:read"], "the desk", days=30)
    new = rotate_key(database, time, old.record.id, overlap_hours=2)
    assert new is not None
    assert (new.record.tenant, new.record.scopes, new.record.title) == (
        "acme", frozenset({"advice:read"}), "the desk",
    )
    assert new.record.expires == "2026-04-01T08:15:00.000Z"
    assert (status(client, old.text), status(client, new.text)) == (200, 200)
    time.passes(2 * 3600 + 4)
    assert (status(client, old.text), status(client, new.text)) == (401, 200)
    assert rotate_key(database, time, old.record.id) is None


def test_a_key_is_stored_as_its_digest_alone(database: Database) -> None:
    key = make_key(database, utc_now)
    stored: Any = database.read(lambda db: keys.find(db, key.record.id))
    assert key.text not in repr(stored)
    assert key.text.rsplit("_", 1)[1] not in repr(stored)
    assert database.read(keys.count) == 1


@pytest.mark.parametrize(("tenant", "scopes", "said"), [
    ("Acme", ["admin"], "tenant"), ("", ["admin"], "tenant"), ("acme", ["advce:read"], "advice:read"),
])
def test_a_key_for_nobody_or_nothing_is_not_made(tenant: str, scopes: list[str], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        make_key(None, utc_now, tenant, scopes)  # type: ignore[arg-type]
