"""What a case holds that may be about a person: words, names, serial numbers; read and erased.

Findings, times and the machine's failure stay: they say nothing of anybody, and the case's answers rest on them. So
does the caller's own number of the job, which leads to nobody but through the caller's records.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, bindparam, update

from api.storage import cases, repeats
from api.tables import closure, finding, service_case, withdrawal
from schemas.answers import CaseRecord
from schemas.personal import FindingWords, PersonalData
from schemas.requests import FindingGiven, WithdrawalRequest

ERASED = "erased"
"""What stands in place of a reason that must be there."""
_CASE = (
    update(service_case)
    .where(service_case.c.id == bindparam("name"), service_case.c.version == bindparam("before"))
    .values(complaint="", metadata="{}", context=bindparam("said"), version=bindparam("after"),
            updated=bindparam("now"))
)
_FINDING = update(finding).where(
    finding.c.case_id == bindparam("name"), finding.c.number == bindparam("which")).values(body=bindparam("said"))
_WITHDRAWAL = update(withdrawal).where(withdrawal.c.case_id == bindparam("name")).values(body=bindparam("said"))
_CLOSURE = update(closure).where(closure.c.case_id == bindparam("name")).values(body=bindparam("said"))


def of_case(case: CaseRecord) -> PersonalData:
    """What a case holds."""
    ended = None if case.closure is None else case.closure.closure
    return PersonalData(
        case.id, case.complaint, case.metadata, case.unit.serial,
        tuple(
            FindingWords(f.number, f.note, f.by, None if f.withdrawn is None else f.withdrawn.reason,
                         None if f.withdrawn is None else f.withdrawn.by)
            for f in case.findings
            if f.note or f.by or f.withdrawn is not None
        ),
        "" if ended is None else ended.note, None if ended is None else ended.by,
    )


def erase(db: Connection, tenant: str, case: CaseRecord, now: str) -> CaseRecord:
    """Put nothing in its place, in kept answers too; the case as it is then."""
    context = cases.context_of(case).model_copy(update={"unit": case.unit.model_copy(update={"serial": None})})
    db.execute(_CASE, {"name": case.id, "before": case.version, "after": case.version + 1, "now": now,
                       "said": cases.context_text(context)})
    for f in case.findings:
        kept = FindingGiven(about=f.about, outcome=f.outcome, reading=f.reading)
        db.execute(_FINDING, _about(case, kept.model_dump_json(), which=f.number))
    db.execute(_WITHDRAWAL, _about(case, WithdrawalRequest(reason=ERASED).model_dump_json()))
    if case.closure is not None:
        ended = case.closure.closure.model_copy(update={"note": "", "by": None})
        db.execute(_CLOSURE, _about(case, ended.model_dump_json()))
    repeats.forget_about(db, tenant, f"/v1/cases/{case.id}")
    return cases.read(db, tenant, case.id)


def _about(case: CaseRecord, said: str, **more: int) -> dict[str, Any]:
    return {"name": case.id, "said": said, **more}
