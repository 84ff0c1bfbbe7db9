"""Cases: opening, reading, listing, and the changes that append to them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Body, Path, Query, Request, Response

from api.answering import answer, require_match, tag_of, unchanged
from api.bodies import BodyRoute
from api.consultation import question
from api.documented import CONDITIONAL, ETAG, IF_NONE_MATCH, LINK, LOCATION, NOT_MODIFIED, headers, refusals
from api.problems import Refusal
from api.service import Service, service_of
from api.store import CaseFilter
from graph.errors import UnknownName
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
_CHANGE = ("unknown-case", "case-closed", "case-changed")


@router.post(
    "", operation_id="openCase", status_code=201, response_model=CaseRecord,
    summary="Open a case",
    description=(
        "Stores a service call with what is known so far. The case rests on the equipment's graph as it is now, and "
        "keeps to it: its answers stay the same when the graph is revised."
    ),
    responses={
        **refusals("unknown-equipment", "unknown-name", "finding-misfit", "currency-mismatch", body=True),
        201: headers(ETAG, LOCATION),
    },
)
async def open_case(request: Request, body: Annotated[CaseRequest, Body()]) -> Response:
    """Check everything first; store only what can be answered."""
    service = service_of(request)
    stocked = service.registry.of(body.equipment, "/equipment")
    question(stocked.model, body, body.findings)
    case = service.store.open_case(body, stocked.stamp)
    return answer(case, 201, {"location": f"/v1/cases/{case.id}", "etag": tag_of(case)})


@router.get(
    "", operation_id="listCases", response_model=CasePage,
    summary="List cases",
    description="Newest first, a page at a time: follow `next` (or the Link header) until there is none.",
    responses={**refusals(parameters=True), 200: headers(LINK)},
)
async def list_cases(request: Request, query: Annotated[CasesQuery, Query()]) -> Response:
    """One page of cases."""
    chosen = CaseFilter(query.status, query.equipment, query.external_id)
    page = service_of(request).store.cases(chosen, query.cursor, query.limit)
    if page.next is None:
        return answer(page)
    following = query.model_copy(update={"cursor": page.next}).model_dump(exclude_none=True)
    return answer(page, headers={"link": f'</v1/cases?{urlencode(following)}>; rel="next"'})


@router.get(
    "/{case_id}", operation_id="readCase", response_model=CaseRecord,
    summary="Read a case",
    description="Everything on record, withdrawn findings included. The ETag is the case's version.",
    responses={**refusals("unknown-case", parameters=True), 200: headers(ETAG), 304: NOT_MODIFIED},
    openapi_extra={"parameters": [IF_NONE_MATCH]},
)
async def read_case(request: Request, case_id: CaseId) -> Response:
    """One case."""
    case = service_of(request).store.case(case_id)
    return unchanged(request, tag_of(case)) or answer(case, headers={"etag": tag_of(case)})


@router.put(
    "/{case_id}/context", operation_id="setCaseContext", response_model=CaseRecord,
    summary="Set what is known besides the findings",
    description=(
        "Replaces conditions, asker, economics and unit: a technician takes over from the caller, the site's water "
        "turns out to be hard." + CONDITIONAL
    ),
    responses={**refusals(*_CHANGE, "unknown-name", "currency-mismatch", body=True), 200: headers(ETAG)},
)
async def set_context(request: Request, case_id: CaseId, body: Annotated[Context, Body()]) -> Response:
    """Replace the context of an open case."""
    def change(service: Service, case: CaseRecord) -> CaseRecord:
        question(service.pinned(case.graph), body, ())
        return service.store.set_context(case, body)

    return _changed(request, case_id, change)


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
)
async def add_findings(request: Request, case_id: CaseId, body: Annotated[FindingsRequest, Body()]) -> Response:
    """Append to an open case."""
    def change(service: Service, case: CaseRecord) -> CaseRecord:
        findings_of(service.pinned(case.graph), body.findings)
        most = service.settings.most_findings
        if len(case.findings) + len(body.findings) > most:
            raise Refusal("case-full", f"the case has {len(case.findings)} findings, at most {most} are kept")
        return service.store.append(case, body.findings)

    return _changed(request, case_id, change, 201)


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
)
async def withdraw_finding(
    request: Request, case_id: CaseId, number: FindingNumber, body: Annotated[WithdrawalRequest, Body()]
) -> Response:
    """Withdraw one finding of an open case."""
    def change(service: Service, case: CaseRecord) -> CaseRecord:
        if number > len(case.findings):
            raise Refusal("unknown-finding", f"the case has {len(case.findings)} findings, none with number {number}")
        if case.findings[number - 1].withdrawn is not None:
            raise Refusal("already-withdrawn", f"finding {number} is withdrawn")
        return service.store.withdraw(case, number, body)

    return _changed(request, case_id, change, 201)


@router.post(
    "/{case_id}/closure", operation_id="closeCase", status_code=201, response_model=CaseRecord,
    summary="Close a case",
    description=(
        "Records what was found and done, the truth that rates can later be learned from. A closed case can be read "
        "but not changed." + CONDITIONAL
    ),
    responses={**refusals(*_CHANGE, "unknown-name", body=True), 201: headers(ETAG)},
)
async def close_case(request: Request, case_id: CaseId, body: Annotated[ClosureRequest, Body()]) -> Response:
    """Close an open case."""
    def change(service: Service, case: CaseRecord) -> CaseRecord:
        equipment = service.pinned(case.graph).equipment
        modes = () if isinstance(body.found, str) else body.found
        for kind, names, valid, where in (
            ("failure mode", modes, equipment.modes, "/found"),
            ("remedy", body.remedies, equipment.remedies, "/remedies"),
        ):
            for i, name in enumerate(names):
                if name not in valid:
                    raise UnknownName(kind, name, valid, pointer=f"{where}/{i}")
        for part in body.parts:
            if part not in equipment.parts:
                raise UnknownName("part", part, equipment.parts, pointer=f"/parts/{part}")
        return service.store.close(case, body)

    return _changed(request, case_id, change, 201)


def _changed(
    request: Request, name: str, change: Callable[[Service, CaseRecord], CaseRecord], status: int = 200
) -> Response:
    """Carry out a change on the newest version; where no version was asked for, try again after a race."""
    service = service_of(request)
    tries = 1 if "if-match" in request.headers else 5
    while True:
        tries -= 1
        case = service.store.case(name)
        require_match(request, case)
        if case.status == "closed":
            raise Refusal("case-closed", f"the case was closed at {case.updated}")
        try:
            after = change(service, case)
        except Refusal as refusal:
            if refusal.code != "case-changed" or not tries:
                raise
        else:
            return answer(after, status, {"etag": tag_of(after)})
