"""Cases: opening, reading, listing, and the changes that append to them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Body, Path, Query, Request, Response
from sqlalchemy import Connection

from api.answering import answer, require_match, tag_of, unchanged
from api.bodies import BodyRoute
from api.changes import Effect, Work, carried_out
from api.clock import written
from api.closeouts.record import check_closure
from api.consultation import question
from api.documented import (
    CONDITIONAL,
    ETAG,
    IDEMPOTENCY_KEY,
    IF_MATCH,
    IF_NONE_MATCH,
    LINK,
    LOCATION,
    NOT_MODIFIED,
    REPEATABLE,
    headers,
    needs,
    refusals,
)
from api.problems import Refusal
from api.service import caller_of, service_of
from api.storage import cases, graphs
from api.storage.cases import CaseFilter
from graph.compile import CompiledModel
from schemas.answers import CasePage, CaseRecord
from schemas.asked import findings_of
from schemas.requests import (
    CaseName,
    CaseRequest,
    CasesQuery,
    ClosureRequest,
    Context,
    FindingsRequest,
    WithdrawalRequest,
)

router = APIRouter(prefix="/v1/cases", tags=["cases"], route_class=BodyRoute)
CaseId = Annotated[CaseName, Path(description="id of the case")]
FindingNumber = Annotated[int, Path(ge=1, le=1_000_000, description="number of the finding in its case")]
Change = Callable[[Connection, CaseRecord, CompiledModel, str], CaseRecord]
_CHANGE = ("unknown-case", "case-closed", "case-changed", *REPEATABLE)
_WRITES = needs("cases:write", IF_MATCH, IDEMPOTENCY_KEY)


@router.post(
    "", operation_id="openCase", status_code=201, response_model=CaseRecord,
    summary="Open a case",
    description=(
        "Stores a service call with what is known so far. The case rests on the equipment's graph as it is now, and "
        "keeps to it: its answers stay the same when the graph is revised."
    ),
    responses={
        **refusals("unknown-equipment", "unknown-name", "finding-misfit", "currency-mismatch", *REPEATABLE, body=True),
        201: headers(ETAG, LOCATION),
    },
    openapi_extra=needs("cases:write", IDEMPOTENCY_KEY),
)
async def open_case(request: Request, body: Annotated[CaseRequest, Body()]) -> Response:
    """Check everything first; store only what can be answered."""
    service, caller = service_of(request), caller_of(request)

    async def prepare() -> Work:
        stocked = await service.stocked(caller, body.equipment, "/equipment")
        question(stocked.model, body, body.findings)

        def work(db: Connection) -> Effect:
            graphs.keep(db, stocked.canonical)
            case = cases.add(db, caller.tenant, service.names(), body, stocked.stamp, written(service.clock()))
            return _effect("case.opened", case, 201, {"location": f"/v1/cases/{case.id}"})

        return work

    return await carried_out(request, prepare)


@router.get(
    "", operation_id="listCases", response_model=CasePage,
    summary="List cases",
    description=(
        "Newest first, a page at a time: follow `next` (or the Link header) until there is none. With `changed_since` "
        "in the order of the last change, the newest last: keep the last page's `changed_since` and ask again with it "
        "to learn what has changed. A case may come twice that way; its version tells."
    ),
    responses={**refusals(parameters=True), 200: headers(LINK)},
    openapi_extra=needs("cases:read"),
)
async def list_cases(request: Request, query: Annotated[CasesQuery, Query()]) -> Response:
    """One page of cases."""
    service, caller = service_of(request), caller_of(request)
    since = None if query.changed_since is None else written(datetime.fromisoformat(query.changed_since))
    chosen = CaseFilter(query.status, query.equipment, query.external_id, since)
    page = await service.read(lambda db: cases.page(db, caller.tenant, chosen, query.cursor, query.limit))
    if page.next is None:
        return answer(page)
    place = {"cursor": page.next, "changed_since": page.changed_since}
    following = query.model_copy(update=place).model_dump(exclude_none=True)
    return answer(page, headers={"link": f'</v1/cases?{urlencode(following)}>; rel="next"'})


@router.get(
    "/{case_id}", operation_id="readCase", response_model=CaseRecord,
    summary="Read a case",
    description="Everything on record, withdrawn findings included. The ETag is the case's version.",
    responses={**refusals("unknown-case", parameters=True), 200: headers(ETAG), 304: NOT_MODIFIED},
    openapi_extra=needs("cases:read", IF_NONE_MATCH),
)
async def read_case(request: Request, case_id: CaseId) -> Response:
    """One case."""
    tenant = caller_of(request).tenant
    case = await service_of(request).read(lambda db: cases.read(db, tenant, case_id))
    return unchanged(request, tag_of(case)) or answer(case, headers={"etag": tag_of(case)})


@router.put(
    "/{case_id}/context", operation_id="setCaseContext", response_model=CaseRecord,
    summary="Set what is known besides the findings",
    description=(
        "Replaces conditions, asker, economics and unit: a technician takes over from the caller, the site's water "
        "turns out to be hard. `If-Match` is needed: name the version that this replaces, or `*` for whichever it is."
    ),
    responses={
        **refusals("unknown-case", "case-closed", "case-changed", "precondition-required", "unknown-name",
                   "currency-mismatch", body=True),
        200: headers(ETAG),
    },
    openapi_extra=needs("cases:write", {**IF_MATCH, "required": True}),
)
async def set_context(request: Request, case_id: CaseId, body: Annotated[Context, Body()]) -> Response:
    """Replace the context of an open case."""
    def change(db: Connection, case: CaseRecord, model: CompiledModel, now: str) -> CaseRecord:
        question(model, body, ())
        return cases.set_context(db, case, body, now)

    return await _changed(request, case_id, "case.context_set", change, always=True)


@router.post(
    "/{case_id}/findings", operation_id="addFindings", status_code=201, response_model=CaseRecord,
    summary="Record findings",
    description=(
        "Appends one or several findings in the order in which they were made. All are stored, or none. Findings are "
        "never edited: record the new outcome, or withdraw the wrong one." + CONDITIONAL
    ),
    responses={
        **refusals(*_CHANGE, "case-full", "unknown-name", "finding-misfit", body=True), 201: headers(ETAG),
    },
    openapi_extra=_WRITES,
)
async def add_findings(request: Request, case_id: CaseId, body: Annotated[FindingsRequest, Body()]) -> Response:
    """Append to an open case."""
    most = service_of(request).settings.most_findings

    def change(db: Connection, case: CaseRecord, model: CompiledModel, now: str) -> CaseRecord:
        findings_of(model, body.findings)
        if len(case.findings) + len(body.findings) > most:
            raise Refusal("case-full", f"the case has {len(case.findings)} findings, at most {most} are kept")
        return cases.append(db, case, body.findings, now)

    return await _changed(request, case_id, "case.findings_added", change, 201)


@router.post(
    "/{case_id}/findings/{number}/withdrawal", operation_id="withdrawFinding", status_code=201,
    response_model=CaseRecord,
    summary="Withdraw a finding",
    description=(
        "The finding stays on record with the reason, and no longer counts: the advice is what it would have been "
        "without it." + CONDITIONAL
    ),
    responses={
        **refusals(*_CHANGE, "unknown-finding", "already-withdrawn", body=True), 201: headers(ETAG),
    },
    openapi_extra=_WRITES,
)
async def withdraw_finding(
    request: Request, case_id: CaseId, number: FindingNumber, body: Annotated[WithdrawalRequest, Body()]
) -> Response:
    """Withdraw one finding of an open case."""
    def change(db: Connection, case: CaseRecord, _: CompiledModel, now: str) -> CaseRecord:
        if number > len(case.findings):
            raise Refusal("unknown-finding", f"the case has {len(case.findings)} findings, none with number {number}")
        if case.findings[number - 1].withdrawn is not None:
            raise Refusal("already-withdrawn", f"finding {number} is withdrawn")
        return cases.withdraw(db, case, number, body, now)

    return await _changed(request, case_id, "case.finding_withdrawn", change, 201)


@router.post(
    "/{case_id}/closure", operation_id="closeCase", status_code=201, response_model=CaseRecord,
    summary="Close a case",
    description=(
        "Records what was found and done, the truth that rates can later be learned from. A closed case can be read "
        "but not changed." + CONDITIONAL
    ),
    responses={**refusals(*_CHANGE, "unknown-name", body=True), 201: headers(ETAG)},
    openapi_extra=_WRITES,
)
async def close_case(request: Request, case_id: CaseId, body: Annotated[ClosureRequest, Body()]) -> Response:
    """Close an open case."""
    def change(db: Connection, case: CaseRecord, model: CompiledModel, now: str) -> CaseRecord:
        check_closure(model.equipment, body)
        return cases.close(db, case, body, now)

    return await _changed(request, case_id, "case.closed", change, 201)


async def _changed(
    request: Request, name: str, kind: str, change: Change, status: int = 200, *, always: bool = False
) -> Response:
    """Carry out a change on the newest version of an open case; `always` wants the version it replaces named."""
    service, caller = service_of(request), caller_of(request)

    async def prepare() -> Work:
        model = await service.model_of(caller, name)

        def work(db: Connection) -> Effect:
            case = cases.read(db, caller.tenant, name, to_change=True)
            if case.status == "closed":
                raise Refusal("case-closed", f"the case was closed at {case.updated}")
            require_match(request, tag_of(case), "case-changed", always=always)
            after = change(db, case, model, written(service.clock()))
            return _effect(kind, after, status, {})

        return work

    return await carried_out(request, prepare)


def _effect(kind: str, case: CaseRecord, status: int, headers: Mapping[str, str]) -> Effect:
    """What happened to a case; its event names the case and says nothing of what a caller said."""
    told = {"case": case.id, "version": case.version, "status": case.status, "equipment": case.graph.equipment,
            "external_id": case.external_id}
    return Effect(kind, f"/v1/cases/{case.id}", case, status, {**headers, "etag": tag_of(case)}, told)
