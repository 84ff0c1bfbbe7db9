"""Graph documents, the revisions that tenants published of them, and overlays of rates and prices."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from sqlalchemy import Connection, bindparam, func, insert, select

from api.database import take_turn
from api.models import Canonical
from api.tables import graph_document, graph_revision, overlay
from schemas.overlays import OverlayGiven
from schemas.published import RevisionLine

_DOCUMENT = select(graph_document.c.document).where(graph_document.c.digest == bindparam("digest"))
_MINE = (graph_revision.c.tenant == bindparam("tenant")) & (graph_revision.c.equipment == bindparam("equipment"))
_COLUMNS = (
    graph_revision.c.equipment, graph_revision.c.revision, graph_revision.c.digest, graph_revision.c.note,
    graph_revision.c.created,
)
_NUMBER = select(graph_revision.c.revision).where(_MINE, graph_revision.c.digest == bindparam("digest"))
_LAST = select(func.max(graph_revision.c.revision)).where(_MINE)
_ONE = select(*_COLUMNS).where(_MINE, graph_revision.c.revision == bindparam("revision"))
_PAGE = (
    select(*_COLUMNS).where(_MINE, graph_revision.c.revision < bindparam("before"))
    .order_by(graph_revision.c.revision.desc()).limit(bindparam("most"))
)
_NEWEST = (
    select(graph_revision.c.equipment, func.max(graph_revision.c.revision).label("revision"))
    .where(graph_revision.c.tenant == bindparam("tenant")).group_by(graph_revision.c.equipment).subquery()
)
_HEADS = select(*_COLUMNS).join(
    _NEWEST,
    (graph_revision.c.equipment == _NEWEST.c.equipment) & (graph_revision.c.revision == _NEWEST.c.revision),
).where(graph_revision.c.tenant == bindparam("tenant"))
_NEWEST_OVERLAY = (
    select(overlay.c.equipment, func.max(overlay.c.number).label("number"))
    .where(overlay.c.tenant == bindparam("tenant")).group_by(overlay.c.equipment).subquery()
)
_OVERLAYS = select(overlay).join(
    _NEWEST_OVERLAY,
    (overlay.c.equipment == _NEWEST_OVERLAY.c.equipment) & (overlay.c.number == _NEWEST_OVERLAY.c.number),
).where(overlay.c.tenant == bindparam("tenant"))


@dataclass(frozen=True, slots=True)
class Overlay:
    """A tenant's own rates and prices of one equipment, as they were set the `number`-th time."""

    equipment: str
    number: int
    given: OverlayGiven
    created: str


def document(db: Connection, digest: str) -> Canonical:
    """The stored document of a digest."""
    text: str = db.execute(_DOCUMENT, {"digest": digest}).scalar_one()
    return Canonical(text.encode(), digest)


def keep(db: Connection, canonical: Canonical) -> None:
    """Store a document that may be there already."""
    if db.execute(_DOCUMENT, {"digest": canonical.digest}).first() is None:
        take_turn(db, canonical.digest)
        if db.execute(_DOCUMENT, {"digest": canonical.digest}).first() is None:
            db.execute(insert(graph_document).values(digest=canonical.digest, document=canonical.text.decode()))


def known_as(db: Connection, tenant: str, equipment: str, digest: str) -> int | None:
    """The number under which a tenant has a document."""
    return db.execute(_NUMBER, {"tenant": tenant, "equipment": equipment, "digest": digest}).scalars().first()


def publish(
    db: Connection, tenant: str, equipment: str, canonical: Canonical, now: str, note: str = "", after: int = 0
) -> RevisionLine:
    """Make a document the next revision of its equipment, numbered past `after`."""
    keep(db, canonical)
    last = db.execute(_LAST, {"tenant": tenant, "equipment": equipment}).scalar() or 0
    line = RevisionLine(equipment, max(int(last), after) + 1, canonical.digest, note, now)
    db.execute(insert(graph_revision).values(
        tenant=tenant, equipment=equipment, revision=line.revision, digest=line.digest, note=note, created=now,
    ))
    return line


def loaded(db: Connection, tenant: str, equipment: str, canonical: Canonical, now: str) -> int:
    """The revision number of a document read from a file; a new one becomes the next revision of its equipment."""
    take_turn(db, f"equipment {tenant} {equipment}")
    known = known_as(db, tenant, equipment, canonical.digest)
    return known if known is not None else publish(db, tenant, equipment, canonical, now).revision


def revision(db: Connection, tenant: str, equipment: str, number: int) -> RevisionLine | None:
    """One revision."""
    row = db.execute(_ONE, {"tenant": tenant, "equipment": equipment, "revision": number}).one_or_none()
    return None if row is None else RevisionLine(*row)


def revisions(db: Connection, tenant: str, equipment: str, before: int, most: int) -> list[RevisionLine]:
    """At most `most` revisions numbered below `before`, newest first."""
    rows = db.execute(_PAGE, {"tenant": tenant, "equipment": equipment, "before": before, "most": most}).all()
    return [RevisionLine(*row) for row in rows]


def heads(db: Connection, tenant: str) -> Iterator[RevisionLine]:
    """The newest revision of every equipment that a tenant published."""
    return (RevisionLine(*row) for row in db.execute(_HEADS, {"tenant": tenant}).all())


def overlays(db: Connection, tenant: str) -> Iterator[Overlay]:
    """The newest overlay of every equipment of a tenant."""
    for row in db.execute(_OVERLAYS, {"tenant": tenant}).all():
        yield Overlay(row.equipment, row.number, OverlayGiven.model_validate_json(row.body), row.created)


def set_overlay(db: Connection, tenant: str, new: Overlay) -> None:
    """Put an overlay on record; the newest counts."""
    db.execute(insert(overlay).values(
        tenant=tenant, equipment=new.equipment, number=new.number, body=new.given.model_dump_json(),
        created=new.created,
    ))
