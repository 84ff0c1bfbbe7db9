"""Whether a database holds what was acknowledged: all of it, once, and nothing half done."""

from __future__ import annotations

import hashlib
from collections import Counter, defaultdict

import orjson
from sqlalchemy import Connection, select, text

from api.database import open_database
from api.models import Canonical
from api.tables import closure, event, finding, graph_document, graph_revision, repeat, service_case
from schemas.document import Document
from tests.faults.writing import URN, Record

_INDEXES = text(
    "SELECT bt_index_check(c.oid, true) FROM pg_class c JOIN pg_am a ON a.oid = c.relam "
    "WHERE a.amname = 'btree' AND c.relkind = 'i' AND c.relnamespace = 'public'::regnamespace"
)


def verify(database: str, record: Record) -> Counter[str]:
    """Hold a database to what was acknowledged; how many of each kind it has. Raises AssertionError."""
    opened = open_database(database)
    with opened.writing() as db:  # what checks PostgreSQL's indexes has to be made known to it first
        _sound(db)
        told = _cases(db) | _revisions(db, record)
        _events(db, told)
        kinds = {
            "cases": db.execute(select(service_case.c.external_id)).scalars().all(),
            "findings": [_note(body) for body in db.execute(select(finding.c.body)).scalars()],
            "closures": [_note(body) for body in db.execute(select(closure.c.body)).scalars()],
            "revisions": db.execute(select(graph_revision.c.note).where(graph_revision.c.tenant != "")).scalars().all(),
        }
        stored = Counter(str(key) for keys in kinds.values() for key in keys)
        assert set(stored.values()) <= {1}, "nothing twice"
        assert set(record.acknowledged) <= set(stored), "everything that was acknowledged"
        assert set(stored) <= set(record.sent), "nothing that was not sent"
        answers = {key: bytes(body) for key, body in db.execute(select(repeat.c.key, repeat.c.body)).all()}
        assert set(answers) == set(stored), "an answer is kept for each change, and for nothing else"
        assert all(answers[key] == said for key, said in record.acknowledged.items()), "the same, to the byte"
    opened.close()
    return Counter({kind: len(keys) for kind, keys in kinds.items()})


def _sound(db: Connection) -> None:
    """The database's own checks."""
    if db.dialect.name == "sqlite":
        assert db.execute(text("PRAGMA integrity_check")).scalars().all() == ["ok"]
        assert db.execute(text("PRAGMA foreign_key_check")).all() == []
    else:
        db.execute(text("CREATE EXTENSION IF NOT EXISTS amcheck"))
        assert db.execute(_INDEXES).all()


def _cases(db: Connection) -> dict[str, list[int]]:
    """The versions that each case went through. A case is whole, and the graph that it pins exists."""
    numbers: defaultdict[str, list[int]] = defaultdict(list)
    for name, number in db.execute(select(finding.c.case_id, finding.c.number).order_by(finding.c.number)).all():
        numbers[name].append(number)
    ended = set(db.execute(select(closure.c.case_id)).scalars())
    r = graph_revision.c
    graphs = set(db.execute(select(r.equipment, r.revision, r.digest)).all())
    found = {}
    for case in db.execute(select(service_case)):
        assert numbers[case.id] == list(range(1, len(numbers[case.id]) + 1))
        assert case.version == 1 + len(numbers[case.id]) + (case.id in ended)
        assert (case.status == "closed") == (case.id in ended)
        assert (case.equipment, case.revision, case.digest) in graphs
        found[f"/v1/cases/{case.id}"] = list(range(1, case.version + 1))
    return found


def _revisions(db: Connection, record: Record) -> dict[str, list[int]]:
    """The numbers of the revisions published. Each has the document that was sent, under its digest."""
    rows = db.execute(
        select(graph_revision, graph_document.c.document)
        .join(graph_document, graph_document.c.digest == graph_revision.c.digest)
        .where(graph_revision.c.tenant != "").order_by(graph_revision.c.revision)
    ).all()
    numbers = [row.revision for row in rows]
    assert numbers == list(range(2, len(rows) + 2)), "numbered without gaps, past the one that everybody sees"
    for row in rows:
        sent = Canonical.of(Document.model_validate(record.sent[row.note].body))
        assert row.digest == sent.digest == hashlib.sha256(row.document.encode()).hexdigest()
        said = record.acknowledged.get(row.note)
        assert said is None or orjson.loads(said)["revision"]["revision"] == row.revision
    return {URN: numbers} if rows else {}


def _events(db: Connection, told: dict[str, list[int]]) -> None:
    """An event for each change, in its order, numbered without gaps."""
    rows = db.execute(select(event.c.number, event.c.id, event.c.body).order_by(event.c.number)).all()
    assert [row.number for row in rows] == list(range(1, len(rows) + 1))
    assert len({row.id for row in rows}) == len(rows)
    heard: defaultdict[str, list[int]] = defaultdict(list)
    for row in rows:
        body = orjson.loads(row.body)
        heard[body["subject"]].append(body["data"].get("version") or body["data"]["revision"])
    assert heard == told


def _note(body: str) -> str:
    return str(orjson.loads(body)["note"])
