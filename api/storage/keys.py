"""API keys as they are stored: never the key, only its SHA-256."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from sqlalchemy import Connection, Row, bindparam, func, insert, select, update

from api.tables import api_key


@dataclass(frozen=True, slots=True)
class KeyRecord:
    """One key; times are RFC 3339 text in UTC."""

    id: str
    tenant: str
    title: str
    hash: str
    scopes: frozenset[str]
    created: str
    expires: str | None
    revoked: str | None

    def stands(self, now: str) -> bool:
        """Whether the key opens anything at this time."""
        return self.revoked is None and (self.expires is None or now < self.expires)


_ONE = select(api_key).where(api_key.c.id == bindparam("id"))
_ALL = select(api_key).order_by(api_key.c.created, api_key.c.id)
_COUNT = select(func.count()).select_from(api_key)
_REVOKE = (
    update(api_key).where(api_key.c.id == bindparam("name"), api_key.c.revoked.is_(None))
    .values(revoked=bindparam("now"))
)
_EXPIRE = update(api_key).where(api_key.c.id == bindparam("name")).values(expires=bindparam("moment"))


def find(db: Connection, name: str) -> KeyRecord | None:
    """The key with this id."""
    row = db.execute(_ONE, {"id": name}).one_or_none()
    return None if row is None else _record(row)


def every(db: Connection) -> Iterator[KeyRecord]:
    """All keys, the oldest first."""
    return map(_record, db.execute(_ALL).all())


def count(db: Connection) -> int:
    """How many keys were ever made."""
    return int(db.execute(_COUNT).scalar_one())


def add(db: Connection, record: KeyRecord) -> None:
    """Store a new key."""
    db.execute(insert(api_key).values(
        id=record.id, tenant=record.tenant, title=record.title, hash=record.hash,
        scopes=" ".join(sorted(record.scopes)), created=record.created, expires=record.expires, revoked=record.revoked,
    ))


def revoke(db: Connection, name: str, now: str) -> bool:
    """Make a key worthless; whether there was one that wasn't yet."""
    return db.execute(_REVOKE, {"name": name, "now": now}).rowcount == 1


def expire(db: Connection, name: str, moment: str) -> None:
    """Let a key end at a moment."""
    db.execute(_EXPIRE, {"name": name, "moment": moment})


def _record(row: Row[tuple[str, ...]]) -> KeyRecord:
    return KeyRecord(
        row.id, row.tenant, row.title, row.hash, frozenset(row.scopes.split()), row.created, row.expires, row.revoked,
    )
