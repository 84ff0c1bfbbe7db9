"""Cases. A case changes by appending; its version counts the changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import orjson
from sqlalchemy import Connection, Row, Select, bindparam, insert, or_, select, update

from api.problems import Refusal
from api.tables import closure, finding, service_case, withdrawal
from schemas.answers import CaseLine, CasePage, CaseRecord, ClosureRecord, FindingRecord, GraphStamp, Withdrawn
from schemas.requests import CaseRequest, ClosureRequest, Context, FindingGiven, WithdrawalRequest

_C = service_case.c
_CASE = select(service_case).where(_C.tenant == bindparam("tenant"), _C.id == bindparam("id"))
_STAMP = select(_C.equipment, _C.revision, _C.digest, _C.overlay).where(
    _C.tenant == bindparam("tenant"), _C.id == bindparam("id")
)
_CASE_TO_CHANGE = _CASE.with_for_update()
_FINDINGS = (
    select(finding.c.number, finding.c.body, finding.c.recorded,
           withdrawal.c.body.label("reason"), withdrawal.c.recorded.label("withdrawn"))
    .select_from(finding.outerjoin(
        withdrawal, (withdrawal.c.case_id == finding.c.case_id) & (withdrawal.c.number == finding.c.number)
    ))
    .where(finding.c.case_id == bindparam("id")).order_by(finding.c.number)
)
_CLOSURE = select(closure.c.recorded, closure.c.body).where(closure.c.case_id == bindparam("id"))
_LINES = select(
    _C.id, _C.version, _C.status, _C.equipment, _C.external_id, _C.metadata, _C.complaint, _C.created, _C.updated
)
_CLOSED_AS = select(_C.id).where(
    _C.tenant == bindparam("tenant"), _C.external_id == bindparam("external_id"),
    _C.equipment == bindparam("equipment"), _C.status == "closed",
).order_by(_C.id).limit(1)
_OPEN, _FIND, _WITHDRAW, _CLOSE = insert(service_case), insert(finding), insert(withdrawal), insert(closure)
_THIS = (_C.id == bindparam("name"), _C.version == bindparam("before"))
_STEP = update(service_case).where(*_THIS).values(version=bindparam("after"), updated=bindparam("now"))
_STEP_CONTEXT = _STEP.values(context=bindparam("said"))
_STEP_CLOSED = _STEP.values(status="closed")


@dataclass(frozen=True, slots=True)
class CaseFilter:
    """Which cases to list; None lists all. With `changed_since` the order is that of their last change."""

    status: str | None = None
    equipment: str | None = None
    external_id: str | None = None
    changed_since: str | None = None


def read(db: Connection, tenant: str, name: str, *, to_change: bool = False) -> CaseRecord:
    """A case with everything on record; `to_change` keeps others from changing it. Raises Refusal unknown-case."""
    row = db.execute(_CASE_TO_CHANGE if to_change else _CASE, {"tenant": tenant, "id": name}).one_or_none()
    if row is None:
        raise _unknown(name)
    found = db.execute(_FINDINGS, {"id": name}).all()
    ended = db.execute(_CLOSURE, {"id": name}).one_or_none() if row.status == "closed" else None
    context = Context.model_validate_json(row.context)
    return CaseRecord(
        id=row.id, version=row.version, status=row.status,
        graph=GraphStamp(row.equipment, row.revision, row.digest, row.overlay),
        external_id=row.external_id, metadata=orjson.loads(row.metadata), complaint=row.complaint,
        conditions=context.conditions, asker=context.asker, economics=context.economics, unit=context.unit,
        findings=tuple(_finding(f) for f in found),
        closure=None if ended is None else ClosureRecord(
            ended.recorded, ClosureRequest.model_validate_json(ended.body)),
        created=row.created, updated=row.updated,
    )


def stamp(db: Connection, tenant: str, name: str) -> GraphStamp:
    """What a case rests on. Raises Refusal unknown-case."""
    row = db.execute(_STAMP, {"tenant": tenant, "id": name}).one_or_none()
    if row is None:
        raise _unknown(name)
    return GraphStamp(row.equipment, row.revision, row.digest, row.overlay)


def _unknown(name: str) -> Refusal:
    return Refusal("unknown-case", f"there is no case {name!r}")


def page(db: Connection, tenant: str, chosen: CaseFilter, cursor: str | None, most: int) -> CasePage:
    """A page of cases from the cursor on: newest first, or in the order of their last change."""
    query = _LINES.where(_C.tenant == tenant).limit(most + 1)
    for column, wanted in ((_C.status, chosen.status), (_C.equipment, chosen.equipment),
                           (_C.external_id, chosen.external_id)):
        if wanted is not None:
            query = query.where(column == wanted)
    since = chosen.changed_since
    query = _newest_first(query, cursor) if since is None else _as_changed(query, since, cursor)
    rows = db.execute(query).all()
    lines = tuple(
        CaseLine(r.id, r.version, r.status, r.equipment, r.external_id, orjson.loads(r.metadata), r.complaint,
                 r.created, r.updated)
        for r in rows[:most]
    )
    following = lines[-1].id if len(rows) > most else None
    return CasePage(lines, following, None if since is None else lines[-1].updated if lines else since)


def _newest_first(query: Select[Any], before: str | None) -> Select[Any]:
    return (query if before is None else query.where(_C.id < before)).order_by(_C.id.desc())


def _as_changed(query: Select[Any], since: str, after: str | None) -> Select[Any]:
    here = _C.updated >= since if after is None else or_(
        _C.updated > since, (_C.updated == since) & (_C.id > after)
    )
    return query.where(here).order_by(_C.updated, _C.id)


def add(db: Connection, tenant: str, name: str, request: CaseRequest, stamp: GraphStamp, now: str) -> CaseRecord:
    """Store a new case that rests on the stamped graph."""
    db.execute(_OPEN, {
        "id": name, "tenant": tenant, "version": 1, "status": "open", "equipment": stamp.equipment,
        "digest": stamp.digest, "revision": stamp.revision, "overlay": stamp.overlay,
        "external_id": request.external_id, "metadata": orjson.dumps(request.metadata).decode(),
        "complaint": request.complaint, "context": context_text(request), "created": now, "updated": now,
    })
    return CaseRecord(
        name, 1, "open", stamp, request.external_id, request.metadata, request.complaint, request.conditions,
        request.asker, request.economics, request.unit, _append(db, name, 0, request.findings, now), None, now, now,
    )


def append(db: Connection, before: CaseRecord, findings: Sequence[FindingGiven], now: str) -> CaseRecord:
    """Append findings to the case as it was read."""
    after = _step(db, before, now)
    return replace(after, findings=before.findings + _append(db, before.id, len(before.findings), findings, now))


def withdraw(db: Connection, before: CaseRecord, number: int, request: WithdrawalRequest, now: str) -> CaseRecord:
    """Put a finding on record as withdrawn."""
    after = _step(db, before, now)
    db.execute(_WITHDRAW, {"case_id": before.id, "number": number, "body": request.model_dump_json(), "recorded": now})
    gone = Withdrawn(now, request.reason, request.by)
    return replace(after, findings=tuple(
        replace(f, withdrawn=gone) if f.number == number else f for f in before.findings
    ))


def set_context(db: Connection, before: CaseRecord, context: Context, now: str) -> CaseRecord:
    """Replace what is known besides the findings."""
    after = _step(db, before, now, _STEP_CONTEXT, said=context_text(context))
    return replace(after, conditions=context.conditions, asker=context.asker, economics=context.economics,
                   unit=context.unit)


def close(
    db: Connection, before: CaseRecord, request: ClosureRequest, now: str, ended: str | None = None
) -> CaseRecord:
    """Close the case; `ended` is when the job ended, where that was not now."""
    after, ended = _step(db, before, now, _STEP_CLOSED), ended or now
    db.execute(_CLOSE, {"case_id": before.id, "body": request.model_dump_json(), "recorded": ended})
    return replace(after, status="closed", closure=ClosureRecord(ended, request))


def closed_as(db: Connection, tenant: str, equipment: str, external_id: str) -> str | None:
    """The closed case of an equipment with a number of the caller's, if there is one."""
    name: str | None = db.execute(
        _CLOSED_AS, {"tenant": tenant, "equipment": equipment, "external_id": external_id}
    ).scalar()
    return name


def _step(db: Connection, before: CaseRecord, now: str, statement: Any = _STEP, **values: str) -> CaseRecord:
    """Make `before` the version that changes now. Raises Refusal storage-busy where it is no longer the newest."""
    version = before.version + 1
    changed = db.execute(
        statement, {"name": before.id, "before": before.version, "after": version, "now": now, **values}
    )
    if changed.rowcount != 1:
        raise Refusal("storage-busy", f"version {before.version} is no longer the newest", headers={"retry-after": "1"})
    return replace(before, version=version, updated=now)


def context_of(case: CaseRecord) -> Context:
    """What a case knows besides the findings."""
    return Context(conditions=dict(case.conditions), asker=case.asker, economics=case.economics, unit=case.unit)


def context_text(context: Context) -> str:
    """A context as it is stored."""
    return context.model_dump_json(include=set(Context.model_fields))


def _append(
    db: Connection, name: str, last: int, findings: Sequence[FindingGiven], now: str
) -> tuple[FindingRecord, ...]:
    if findings:
        db.execute(_FIND, [
            {"case_id": name, "number": number, "body": given.model_dump_json(), "recorded": now}
            for number, given in enumerate(findings, last + 1)
        ])
    return tuple(_recorded(number, now, given, None) for number, given in enumerate(findings, last + 1))


def _recorded(number: int, moment: str, given: FindingGiven, withdrawn: Withdrawn | None) -> FindingRecord:
    return FindingRecord(
        number, moment, given.about, given.outcome, given.note, given.reading, given.by, withdrawn,
    )


def _finding(row: Row[*tuple[Any, ...]]) -> FindingRecord:
    withdrawn = None
    if row.reason is not None:
        why = orjson.loads(row.reason)
        withdrawn = Withdrawn(row.withdrawn, why["reason"], why["by"])
    return _recorded(row.number, row.recorded, FindingGiven.model_validate_json(row.body), withdrawn)
