"""Events from the transaction to the subscriber, on both databases, with a clock that is moved by hand."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import count

import orjson
import pytest
from standardwebhooks import Webhook

from api.clock import written
from api.database import Database
from api.identity import case_names
from api.storage import events, webhooks
from api.storage.events import Happening
from api.webhooks.calling import Outcome
from api.webhooks.delivering import AT_ONCE, LEASE, Deliverer
from api.webhooks.schedule import DELAYS
from api.webhooks.signing import new_secret
from tests.api.webhooks.subscriber import Subscriber, subscribing


class Desk:
    """A tenant whose events go to one subscriber."""

    def __init__(self, database: Database, there: Subscriber, types: tuple[str, ...] = ()) -> None:
        self.database, self.now, self.secret = database, datetime.now(UTC), new_secret()
        numbers = count(1)
        self.names = case_names(lambda: self.now, lambda _: next(numbers))
        self.deliverer = Deliverer(database, lambda: self.now, local=True)
        self.hook = self.names()
        database.write(lambda db: webhooks.add(db, webhooks.Subscriber(
            self.hook, "one", there.url, types, "", {}, ((self.secret, None),), written(self.now), None, None)))

    def happens(self, kind: str = "halfsplit.case.closed", tenant: str = "one") -> str:
        name = self.names()
        self.database.write(lambda db: events.add(
            db, tenant, [name], [Happening(kind, "/v1/cases/x", {"case": "x"})], written(self.now)))
        return name

    def passes(self, span: timedelta) -> int:
        self.now += span
        return self.deliverer.deliver()

    def log(self) -> list[tuple[str, str, list[int | None]]]:
        found = self.database.read(lambda db: webhooks.deliveries(db, self.hook, None, 50))
        return [(d.event, d.state, [status for _, status, _, _ in d.tries]) for d in found]


@pytest.fixture
def there() -> Iterator[Subscriber]:
    with subscribing() as subscriber:
        yield subscriber


def test_an_event_arrives_once_and_can_be_verified(database: Database, there: Subscriber) -> None:
    desk = Desk(database, there)
    name = desk.happens()
    assert desk.passes(timedelta(0)) == 1 and desk.passes(timedelta(days=9)) == 0
    (_, headers, body), = there.came
    told = orjson.loads(body)
    assert Webhook(desk.secret).verify(body, headers) == told
    assert (told["specversion"], told["id"], told["type"], told["sequence"]) == (
        "1.0", name, "halfsplit.case.closed", "1")
    assert headers["content-type"] == "application/cloudevents+json" and headers["webhook-id"] == name
    assert desk.log() == [(name, "delivered", [204])]


def test_only_what_was_asked_for_and_only_of_the_tenant(database: Database, there: Subscriber) -> None:
    desk = Desk(database, there, ("halfsplit.case.closed",))
    desk.happens("halfsplit.case.opened")
    desk.happens(tenant="other")
    wanted = desk.happens()
    desk.passes(timedelta(0))
    assert [headers["webhook-id"] for _, headers, _ in there.came] == [wanted]


def test_a_failed_delivery_is_tried_again_for_days_and_then_given_up(database: Database, there: Subscriber) -> None:
    there.status = 500
    desk = Desk(database, there)
    name = desk.happens()
    desk.passes(timedelta(0))
    for delay in DELAYS:
        assert desk.passes(delay * 0.5) == 0
        assert desk.passes(delay * 0.7) == 1
    assert desk.log() == [(name, "given_up", [500] * (len(DELAYS) + 1))]
    assert desk.passes(timedelta(days=9)) == 0


def test_a_subscriber_that_comes_back_gets_what_it_missed(database: Database, there: Subscriber) -> None:
    there.status, desk = 503, Desk(database, there)
    name = desk.happens()
    desk.passes(timedelta(0))
    there.status = 200
    desk.passes(timedelta(minutes=1))
    assert desk.log() == [(name, "delivered", [503, 200])]


def test_gone_disables_the_subscriber_and_gives_up_what_waits(database: Database, there: Subscriber) -> None:
    there.status, desk = 410, Desk(database, there)
    names = [desk.happens() for _ in range(12)]
    desk.passes(timedelta(0))
    subscriber = database.read(lambda db: webhooks.read(db, "one", desk.hook))
    assert subscriber.disabled is not None and subscriber.reason == "it answered 410 Gone"
    desk.happens()
    assert {state for _, state, _ in desk.log()} == {"given_up"} and len(desk.log()) == len(names)


def test_gone_disables_the_subscriber_as_it_is_after_the_call(
    database: Database, there: Subscriber, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = Desk(database, there)
    desk.happens()

    def meanwhile(*_: object) -> Outcome:
        before = database.read(lambda db: webhooks.read(db, "one", desk.hook))
        database.write(lambda db: webhooks.change(db, replace(before, title="renamed meanwhile")))
        return Outcome(410, "", 1)

    monkeypatch.setattr("api.webhooks.delivering.call", meanwhile)
    desk.passes(timedelta(0))
    after = database.read(lambda db: webhooks.read(db, "one", desk.hook))
    assert after.title == "renamed meanwhile" and after.disabled is not None


def test_calls_that_are_gone_at_once_don_t_hinder_each_other(database: Database, there: Subscriber) -> None:
    there.status, desk = 410, Desk(database, there)
    names = [desk.happens() for _ in range(AT_ONCE)]
    with ThreadPoolExecutor(AT_ONCE) as pool:
        desk.deliverer.deliver(lambda due: list(pool.map(desk.deliverer._one, due)))
    assert sorted(desk.log()) == [(name, "given_up", [410]) for name in sorted(names)]


def test_a_worker_that_died_leaves_the_delivery_to_another(database: Database, there: Subscriber) -> None:
    desk = Desk(database, there)
    desk.happens()
    taken = database.write(lambda db: webhooks.take_due(db, written(desk.now), written(desk.now + LEASE), 8))
    assert len(taken) == 1 and desk.passes(timedelta(0)) == 0
    assert desk.passes(LEASE + timedelta(seconds=1)) == 1 and len(there.came) == 1


def test_replay_delivers_again_what_follows_a_place(database: Database, there: Subscriber) -> None:
    desk = Desk(database, there)
    names = [desk.happens() for _ in range(3)]
    desk.passes(timedelta(0))
    subscriber = database.read(lambda db: webhooks.read(db, "one", desk.hook))
    assert database.write(lambda db: webhooks.replay(db, subscriber, 1, written(desk.now))) == 2
    there.came.clear()
    desk.passes(timedelta(0))
    assert sorted(headers["webhook-id"] for _, headers, _ in there.came) == names[1:]


def test_a_private_address_is_refused_at_each_call(database: Database, there: Subscriber) -> None:
    desk = Desk(database, there)
    desk.deliverer = Deliverer(database, lambda: desk.now, local=True, resolve=lambda host, port: ["10.0.0.1"])
    desk.happens()
    desk.passes(timedelta(0))
    assert there.came == []
    (_, state, statuses), = desk.log()
    assert (state, statuses) == ("waiting", [None])


def test_what_is_old_is_forgotten_with_its_log(database: Database, there: Subscriber) -> None:
    desk = Desk(database, there)
    desk.happens()
    desk.passes(timedelta(0))
    desk.now += timedelta(days=40)
    kept = desk.happens()
    database.write(lambda db: webhooks.forget(db, written(desk.now - timedelta(days=30))))
    assert [name for name, _, _ in desk.log()] == [kept]
    assert database.read(lambda db: events.first(db, "one")) == 2


def test_each_tenant_has_a_feed_without_gaps(database: Database, there: Subscriber) -> None:
    desk = Desk(database, there)
    for tenant in ("one", "two", "one", "two", "one"):
        desk.happens(tenant=tenant)
    for tenant, length in (("one", 3), ("two", 2)):
        page = database.read(lambda db, t=tenant: events.page(db, t, 0, 10))  # type: ignore[misc]
        assert [e["sequence"] for e in page] == [str(n) for n in range(1, length + 1)]
