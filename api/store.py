"""What is kept: graph revisions and cases. Every method is one transaction.

What a method returns has been committed. A case changes by appending; its version counts the changes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import orjson
from sqlalchemy import Connection, Engine, Row, Table, func, insert, select, update

from api.clock import Clock, written
from api.database import reading, writing
from api.identity import Names
from api.models import Canonical
from api.problems import Refusal
from api.tables import closure, finding, graph_revision, service_case, withdrawal
from schemas.answers import (
    CaseLine,
    CasePage,
    CaseRecord,
    ClosureRecord,
    FindingRecord,
    GraphStamp,
    Withdrawn,
)
from schemas.requests import CaseRequest, ClosureRequest, Context, FindingGiven, WithdrawalRequest


@dataclass(frozen=True, slots=True)
class CaseFilter:
    """Which cases to list; None lists all."""

    status: str | None = None
    equipment: str | None = None
    external_id: str | None = None


class Store:
    """Cases and graph revisions in one database."""

    def __init__(self, engine: Engine, clock: Clock, names: Names) -> None:
        self.engine = engine
        self._clock = clock
        self._names = names

    def revision_of(self, equipment: str, canonical: Canonical) -> int:
        """The revision number of a document; a new one becomes the next revision of its equipment."""
        with writing(self.engine) as db:
            known = db.execute(
                select(graph_revision.c.revision).where(graph_revision.c.digest == canonical.digest)
            ).scalar()
            if known is not None:
                return int(known)
            last = db.execute(
                select(func.max(graph_revision.c.revision)).where(graph_revision.c.equipment == equipment)
            ).scalar()
            number = int(last or 0) + 1
            db.execute(insert(graph_revision).values(
                digest=canonical.digest, equipment=equipment, revision=number, document=canonical.text.decode(),
                created=written(self._clock()),
            ))
            return number

    def document(self, digest: str) -> Canonical:
        """The stored document of a digest."""
        with reading(self.engine) as db:
            text: str = db.execute(
                select(graph_revision.c.document).where(graph_revision.c.digest == digest)
            ).scalar_one()
        return Canonical(text.encode(), digest)

    def open_case(self, request: CaseRequest, stamp: GraphStamp) -> CaseRecord:
        """Store a new case that rests on the stamped graph."""
        name, now = self._names(), written(self._clock())
        with writing(self.engine) as db:
            db.execute(insert(service_case).values(
                id=name, version=1, status="open", equipment=stamp.equipment, digest=stamp.digest,
                external_id=request.external_id, complaint=request.complaint, context=_context_text(request),
                created=now, updated=now,
            ))
            _append(db, name, 0, request.findings, now)
            return _record(db, name)

    def case(self, name: str) -> CaseRecord:
        """A case with everything on record. Raises Refusal unknown-case."""
        with reading(self.engine) as db:
            return _record(db, name)

    def cases(self, chosen: CaseFilter, before: str | None, most: int) -> CasePage:
        """A page of cases, newest first, from those before the cursor."""
        c = service_case.c
        query = select(
            c.id, c.version, c.status, c.equipment, c.external_id, c.complaint, c.created, c.updated
        ).order_by(c.id.desc()).limit(most + 1)
        for column, wanted in ((c.status, chosen.status), (c.equipment, chosen.equipment),
                               (c.external_id, chosen.external_id)):
            if wanted is not None:
                query = query.where(column == wanted)
        if before is not None:
            query = query.where(c.id < before)
        with reading(self.engine) as db:
            rows = db.execute(query).all()
        lines = tuple(CaseLine(*row) for row in rows[:most])
        return CasePage(lines, lines[-1].id if len(rows) > most else None)

    def append(self, before: CaseRecord, findings: Sequence[FindingGiven]) -> CaseRecord:
        """Append findings to the case as it was read."""
        with writing(self.engine) as db:
            now = self._step(db, before)
            _append(db, before.id, len(before.findings), findings, now)
            return _record(db, before.id)

    def withdraw(self, before: CaseRecord, number: int, request: WithdrawalRequest) -> CaseRecord:
        """Put a finding on record as withdrawn."""
        with writing(self.engine) as db:
            now = self._step(db, before)
            _put(db, withdrawal, request, now, case_id=before.id, number=number)
            return _record(db, before.id)

    def set_context(self, before: CaseRecord, context: Context) -> CaseRecord:
        """Replace what is known besides the findings."""
        with writing(self.engine) as db:
            self._step(db, before, context=_context_text(context))
            return _record(db, before.id)

    def close(self, before: CaseRecord, request: ClosureRequest) -> CaseRecord:
        """Close the case."""
        with writing(self.engine) as db:
            now = self._step(db, before, status="closed")
            _put(db, closure, request, now, case_id=before.id)
            return _record(db, before.id)

    def _step(self, db: Connection, before: CaseRecord, **values: str) -> str:
        """Make `before` the version that changes now; the time of the change. Raises Refusal case-changed."""
        now = written(self._clock())
        changed = db.execute(
            update(service_case)
            .where(service_case.c.id == before.id, service_case.c.version == before.version)
            .values(version=before.version + 1, updated=now, **values)
        )
        if changed.rowcount != 1:
            raise Refusal("case-changed", f"version {before.version} is no longer the newest")
        return now


def _context_text(context: Context) -> str:
    return context.model_dump_json(include=set(Context.model_fields))


def _append(db: Connection, name: str, last: int, findings: Sequence[FindingGiven], now: str) -> None:
    for number, given in enumerate(findings, last + 1):
        _put(db, finding, given, now, case_id=name, number=number)


def _put(db: Connection, table: Table, body: FindingGiven | WithdrawalRequest | ClosureRequest, now: str,
         **key: str | int) -> None:
    db.execute(insert(table).values(**key, body=body.model_dump_json(), recorded=now))


def _record(db: Connection, name: str) -> CaseRecord:
    row = db.execute(
        select(service_case, graph_revision.c.revision)
        .join(graph_revision, service_case.c.digest == graph_revision.c.digest)
        .where(service_case.c.id == name)
    ).one_or_none()
    if row is None:
        raise Refusal("unknown-case", f"there is no case {name!r}")
    joined = (withdrawal.c.case_id == finding.c.case_id) & (withdrawal.c.number == finding.c.number)
    found = db.execute(
        select(finding.c.number, finding.c.body, finding.c.recorded,
               withdrawal.c.body.label("reason"), withdrawal.c.recorded.label("withdrawn"))
        .select_from(finding.outerjoin(withdrawal, joined))
        .where(finding.c.case_id == name).order_by(finding.c.number)
    ).all()
    ended = db.execute(select(closure.c.recorded, closure.c.body).where(closure.c.case_id == name)).one_or_none()
    context = Context.model_validate_json(row.context)
    return CaseRecord(
        id=row.id, version=row.version, status=row.status,
        graph=GraphStamp(row.equipment, row.revision, row.digest),
        external_id=row.external_id, complaint=row.complaint,
        conditions=context.conditions, asker=context.asker, economics=context.economics, unit=context.unit,
        findings=tuple(_finding(f) for f in found),
        closure=None if ended is None else ClosureRecord(
            ended.recorded, ClosureRequest.model_validate_json(ended.body)),
        created=row.created, updated=row.updated,
    )


def _finding(row: Row[*tuple[Any, ...]]) -> FindingRecord:
    given = FindingGiven.model_validate_json(row.body)
    withdrawn = None
    if row.reason is not None:
        why = orjson.loads(row.reason)
        withdrawn = Withdrawn(row.withdrawn, why["reason"], why["by"])
    return FindingRecord(
        row.number, row.recorded, given.about, given.outcome, given.note, given.reading, given.by, withdrawn,
    )
