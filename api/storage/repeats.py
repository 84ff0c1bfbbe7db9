"""Requests that may come again: their keys, and the answers they were given."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import orjson
from sqlalchemy import Connection, bindparam, delete, insert, select

from api.database import first_in
from api.problems import Refusal
from api.tables import repeat


@dataclass(frozen=True, slots=True)
class Repeatable:
    """A request that may come again. `fingerprint` tells one payload from another."""

    tenant: str
    operation: str
    key: str
    fingerprint: str

    @property
    def place(self) -> tuple[str, str, str]:
        """What may be under way once."""
        return self.tenant, self.operation, self.key


@dataclass(frozen=True, slots=True)
class Reply:
    """An answer as it went out."""

    status: int
    headers: Mapping[str, str]
    body: bytes


_FIND = select(repeat.c.fingerprint, repeat.c.status, repeat.c.headers, repeat.c.body).where(
    repeat.c.tenant == bindparam("tenant"), repeat.c.operation == bindparam("operation"),
    repeat.c.key == bindparam("key"),
)
_KEEP = insert(repeat)
_FORGET_ABOUT = delete(repeat).where(repeat.c.tenant == bindparam("whose"), repeat.c.subject == bindparam("what"))
_FORGET = delete(repeat).where(repeat.c.created < bindparam("before"))


def find(db: Connection, request: Repeatable) -> Reply | None:
    """The answer this request was given. Raises Refusal key-reused where the key had another payload."""
    row = db.execute(
        _FIND, {"tenant": request.tenant, "operation": request.operation, "key": request.key}
    ).one_or_none()
    if row is None:
        return None
    if row.fingerprint != request.fingerprint:
        raise Refusal("key-reused", f"the Idempotency-Key {request.key!r} came with another request")
    return Reply(row.status, orjson.loads(row.headers), bytes(row.body))


def claim(db: Connection, request: Repeatable) -> None:
    """Keep others from carrying out the same request until the transaction ends. Raises Refusal in-flight."""
    if not first_in(db, "\n".join(request.place)):
        raise in_flight()


def in_flight() -> Refusal:
    """That the same request is being carried out."""
    return Refusal("in-flight", "a request with this Idempotency-Key has not ended yet", headers={"retry-after": "1"})


def keep(db: Connection, request: Repeatable, reply: Reply, now: str, subject: str = "") -> None:
    """Store what the request is answered, now and whenever it comes again; `subject` is what it is about."""
    db.execute(_KEEP, {
        "tenant": request.tenant, "operation": request.operation, "key": request.key,
        "fingerprint": request.fingerprint, "status": reply.status,
        "headers": orjson.dumps(dict(reply.headers)).decode(), "body": reply.body, "created": now,
        "subject": subject,
    })


def forget_about(db: Connection, tenant: str, subject: str) -> None:
    """Remove what was answered about something."""
    db.execute(_FORGET_ABOUT, {"whose": tenant, "what": subject})


def forget(db: Connection, before: str) -> None:
    """Remove what was stored before a moment."""
    db.execute(_FORGET, {"before": before})
