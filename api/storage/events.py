"""What happened, in order: written in the transaction in which it happened, read by those who poll.

The number of an event is its place in the feed of its tenant. Transactions of a tenant take turns from the moment
in which they write an event, so that a number that can be read is never followed by a smaller one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import orjson
from sqlalchemy import Connection, bindparam, func, insert, select

from api.database import take_turn
from api.storage import webhooks
from api.tables import event


@dataclass(frozen=True, slots=True)
class Happening:
    """Something that happened: its type, what it happened to (a path of the service), and what to tell of it."""

    type: str
    subject: str
    data: Mapping[str, Any]


_E = event.c
_LAST = select(func.max(_E.number)).where(_E.tenant == bindparam("tenant"))
_FIRST = select(func.min(_E.number)).where(_E.tenant == bindparam("tenant"))
_PAGE = (
    select(_E.body).where(_E.tenant == bindparam("tenant"), _E.number > bindparam("after")).order_by(_E.number)
    .limit(bindparam("most"))
)
_NUMBERED = select(_E.number, _E.body).where(_E.tenant == bindparam("tenant"), _E.id == bindparam("id"))
_ADD = insert(event)


def add(db: Connection, tenant: str, names: Sequence[str], happenings: Sequence[Happening], now: str) -> None:
    """Write events (CloudEvents 1.0), each under its name, and what is to be delivered of them."""
    if not happenings:
        return
    take_turn(db, f"events/{tenant}")
    last = int(db.execute(_LAST, {"tenant": tenant}).scalar() or 0)
    rows = [
        {
            "tenant": tenant, "number": number, "id": name, "type": happening.type, "recorded": now,
            "body": orjson.dumps({
                "specversion": "1.0", "id": name, "source": "/v1", "type": happening.type,
                "subject": happening.subject, "time": now, "datacontenttype": "application/json",
                "sequence": str(number), "data": happening.data,
            }).decode(),
        }
        for number, (name, happening) in enumerate(zip(names, happenings, strict=True), last + 1)
    ]
    db.execute(_ADD, rows)
    webhooks.queue(db, tenant, [(name, happening.type) for name, happening in zip(names, happenings, strict=True)], now)


def page(db: Connection, tenant: str, after: int, most: int) -> list[dict[str, Any]]:
    """The events that follow a place in the feed, oldest first."""
    rows = db.execute(_PAGE, {"tenant": tenant, "after": after, "most": most}).scalars()
    return [orjson.loads(body) for body in rows]


def first(db: Connection, tenant: str) -> int:
    """The oldest place in the feed that is still kept; 0 where there is none."""
    return int(db.execute(_FIRST, {"tenant": tenant}).scalar() or 0)


def body(db: Connection, tenant: str, name: str) -> bytes | None:
    """An event as it is delivered."""
    row = db.execute(_NUMBERED, {"tenant": tenant, "id": name}).one_or_none()
    return None if row is None else row.body.encode()
