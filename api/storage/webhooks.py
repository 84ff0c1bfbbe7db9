"""Who is told of events, what is still to be delivered, and the log of the tries."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import orjson
from sqlalchemy import Connection, Row, bindparam, delete, func, insert, select, update

from api.database import take_turn
from api.problems import Refusal
from api.tables import attempt, delivery, event, webhook

WAITING, DELIVERED, GIVEN_UP = "waiting", "delivered", "given_up"


@dataclass(frozen=True, slots=True)
class Subscriber:
    """A subscriber; `secrets` are (secret, the moment from which it no longer signs, or None), the newest first."""

    id: str
    tenant: str
    url: str
    types: tuple[str, ...]
    title: str
    metadata: Mapping[str, str]
    secrets: tuple[tuple[str, str | None], ...]
    created: str
    disabled: str | None
    reason: str | None

    def signing(self, now: str) -> list[str]:
        """The secrets that sign at this time."""
        return [secret for secret, until in self.secrets if until is None or now < until]


@dataclass(frozen=True, slots=True)
class Due:
    """A delivery whose time has come. `attempts` counts since it was asked for, `tries` ever, this one included."""

    tenant: str
    webhook: str
    event: str
    attempts: int
    tries: int


@dataclass(frozen=True, slots=True)
class Delivery:
    """What became of an event at a subscriber; `tries` are (when, status, what was said, milliseconds)."""

    event: str
    type: str
    state: str
    due: str | None
    tries: tuple[tuple[str, int | None, str, int], ...]


_W, _D, _A = webhook.c, delivery.c, attempt.c
_MINE = (_W.tenant == bindparam("tenant"), _W.id == bindparam("name"))
_THIS = (_D.webhook == bindparam("hook"), _D.event == bindparam("name"))
_ONE = select(webhook).where(*_MINE)
_ONE_TO_CHANGE = _ONE.with_for_update()
_ALL = select(webhook).where(_W.tenant == bindparam("tenant")).order_by(_W.id)
_COUNT = select(func.count()).select_from(webhook).where(_W.tenant == bindparam("tenant"))
_TOLD = (
    select(_W.id, _W.types).where(_W.tenant == bindparam("tenant"), _W.disabled.is_(None))
    .with_for_update(read=True, key_share=True)  # none of them is removed before what it is to be told is stored
)
_SOMETHING = select(_D.event).where(_D.due <= bindparam("now")).limit(1)
_DUE = (
    select(_D.webhook, _D.event, _D.attempts, _D.tries, _W.tenant)
    .join(webhook, _D.webhook == _W.id).where(_D.due <= bindparam("now")).order_by(_D.due).limit(bindparam("most"))
    .with_for_update(skip_locked=True, of=delivery)
)
_LEASE = update(delivery).where(*_THIS).values(
    due=bindparam("until"), attempts=_D.attempts + 1, tries=_D.tries + 1)
_SETTLE = update(delivery).where(*_THIS).values(state=bindparam("how"), due=bindparam("when"))
_TRIED = insert(attempt)


def add(db: Connection, subscriber: Subscriber) -> None:
    """Store a new subscriber."""
    db.execute(insert(webhook).values(
        id=subscriber.id, tenant=subscriber.tenant, url=subscriber.url, title=subscriber.title,
        types=" ".join(subscriber.types), metadata=_json(dict(subscriber.metadata)), secrets=_json(subscriber.secrets),
        created=subscriber.created, disabled=subscriber.disabled, reason=subscriber.reason,
    ))


def count_to_add(db: Connection, tenant: str) -> int:
    """How many subscribers a tenant has; others add none until the transaction ends."""
    take_turn(db, f"webhooks/{tenant}")
    return int(db.execute(_COUNT, {"tenant": tenant}).scalar_one())


def read(db: Connection, tenant: str, name: str, *, to_change: bool = False) -> Subscriber:
    """A subscriber; `to_change` keeps others from changing it. Raises Refusal unknown-webhook."""
    row = db.execute(_ONE_TO_CHANGE if to_change else _ONE, {"tenant": tenant, "name": name}).one_or_none()
    if row is None:
        raise Refusal("unknown-webhook", f"there is no webhook {name!r}")
    return _subscriber(row)


def every(db: Connection, tenant: str) -> list[Subscriber]:
    """All subscribers of a tenant."""
    return [_subscriber(row) for row in db.execute(_ALL, {"tenant": tenant}).all()]


def change(db: Connection, subscriber: Subscriber) -> None:
    """Replace what may change: address, types, title, metadata, secrets, and whether it is told at all."""
    db.execute(update(webhook).where(_W.tenant == subscriber.tenant, _W.id == subscriber.id).values(
        url=subscriber.url, title=subscriber.title, types=" ".join(subscriber.types),
        metadata=_json(dict(subscriber.metadata)), secrets=_json(subscriber.secrets), disabled=subscriber.disabled,
        reason=subscriber.reason,
    ))
    if subscriber.disabled is not None:
        db.execute(update(delivery).where(_D.webhook == subscriber.id, _D.state == WAITING).values(
            state=GIVEN_UP, due=None))


def remove(db: Connection, tenant: str, name: str) -> Subscriber:
    """Forget a subscriber, which is returned, and what was to be delivered. Raises Refusal unknown-webhook."""
    removed = read(db, tenant, name, to_change=True)
    db.execute(delete(attempt).where(_A.webhook == name))
    db.execute(delete(delivery).where(_D.webhook == name))
    db.execute(delete(webhook).where(_W.id == name))
    return removed


def queue(db: Connection, tenant: str, happened: Sequence[tuple[str, str]], now: str) -> None:
    """Note for every subscriber what it is to be told; `happened` are (event, type)."""
    rows = [
        _waiting(row.id, name, now)
        for row in db.execute(_TOLD, {"tenant": tenant}).all() for name, kind in happened
        if not row.types or kind in row.types.split()
    ]
    if rows:
        db.execute(insert(delivery), rows)


def anything_due(db: Connection, now: str) -> bool:
    """Whether a delivery's time has come; asked before the write lock is taken."""
    return db.execute(_SOMETHING, {"now": now}).first() is not None


def take_due(db: Connection, now: str, until: str, most: int) -> list[Due]:
    """The deliveries whose time has come, kept from other workers until a moment by which they are settled."""
    taken = [Due(row.tenant, row.webhook, row.event, row.attempts + 1, row.tries + 1)
             for row in db.execute(_DUE, {"now": now, "most": most}).all()]
    for due in taken:
        db.execute(_LEASE, {"hook": due.webhook, "name": due.event, "until": until})
    return taken


def settle(db: Connection, due: Due, state: str, again: str | None) -> None:
    """Say what became of a delivery, or when it is tried again."""
    db.execute(_SETTLE, {"hook": due.webhook, "name": due.event, "how": state, "when": again})


def log(db: Connection, due: Due, at: str, status: int | None, said: str, milliseconds: int) -> None:
    """Keep what a try came to."""
    db.execute(_TRIED, {"webhook": due.webhook, "event": due.event, "number": due.tries, "at": at,
                        "status": status, "said": said, "milliseconds": milliseconds})


def deliveries(db: Connection, name: str, before: str | None, most: int) -> list[Delivery]:
    """Deliveries of a subscriber, those of the newest events first, from before an event on."""
    query = (
        select(event.c.id, event.c.type, _D.state, _D.due).join(event, event.c.id == _D.event)
        .where(_D.webhook == name).order_by(event.c.id.desc()).limit(most)
    )
    if before is not None:
        query = query.where(event.c.id < before)
    rows = db.execute(query).all()
    tries: dict[str, list[tuple[str, int | None, str, int]]] = {row.id: [] for row in rows}
    if tries:
        for row in db.execute(
            select(attempt).where(_A.webhook == name, _A.event.in_(list(tries))).order_by(_A.number)
        ).all():
            tries[row.event].append((row.at, row.status, row.said, row.milliseconds))
    return [Delivery(row.id, row.type, row.state, row.due, tuple(tries[row.id])) for row in rows]


def forget(db: Connection, before: str) -> int:
    """Remove events that were recorded before a moment, and everything about their delivery; how many there were."""
    old = select(event.c.id).where(event.c.recorded < before)
    db.execute(delete(attempt).where(_A.event.in_(old)))
    db.execute(delete(delivery).where(_D.event.in_(old)))
    return db.execute(delete(event).where(event.c.recorded < before)).rowcount


def replay(db: Connection, subscriber: Subscriber, since: int, now: str) -> int:
    """Deliver again what follows a place in the feed; how many events that are."""
    found = db.execute(
        select(event.c.id, event.c.type).where(event.c.tenant == subscriber.tenant, event.c.number > since)
    ).all()
    wanted = [row.id for row in found if not subscriber.types or row.type in subscriber.types]
    _again(db, subscriber.id, wanted, now)
    return len(wanted)


def _again(db: Connection, name: str, events: Iterable[str], now: str) -> None:
    for one in events:
        known = db.execute(
            update(delivery).where(_D.webhook == name, _D.event == one).values(state=WAITING, due=now, attempts=0)
        ).rowcount
        if not known:
            db.execute(insert(delivery), _waiting(name, one, now))


def _waiting(name: str, one: str, now: str) -> dict[str, Any]:
    return {"webhook": name, "event": one, "state": WAITING, "due": now, "attempts": 0, "tries": 0}


def _json(value: object) -> str:
    return orjson.dumps(value).decode()


def _subscriber(row: Row[*tuple[Any, ...]]) -> Subscriber:
    return Subscriber(
        row.id, row.tenant, row.url, tuple(row.types.split()), row.title, orjson.loads(row.metadata),
        tuple((secret, until) for secret, until in orjson.loads(row.secrets)), row.created, row.disabled, row.reason,
    )
