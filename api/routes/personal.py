"""What a case holds about people: read by whoever must tell them, erased when they ask."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response
from sqlalchemy import Connection

from api.answering import answer
from api.changes import Effect, Work, carried_out
from api.clock import written
from api.documented import AnswerRoute, needs, refusals
from api.routes.case_answers import CaseId
from api.service import caller_of, service_of
from api.storage import cases, personal
from schemas.personal import PersonalData

router = APIRouter(prefix="/v1/cases/{case_id}/personal-data", tags=["cases"], route_class=AnswerRoute)


@router.get(
    "", operation_id="readPersonalData", response_model=PersonalData, summary="Read what a case holds about people",
    description="Words, names and numbers that could lead to somebody. The service keeps none elsewhere.",
    responses=refusals("unknown-case", parameters=True), openapi_extra=needs("cases:read"),
)
async def read_personal_data(request: Request, case_id: CaseId) -> Response:
    """Everything that was said and by whom."""
    tenant = caller_of(request).tenant
    case = await service_of(request).read(lambda db: cases.read(db, tenant, case_id))
    return answer(personal.of_case(case))


@router.delete(
    "", operation_id="erasePersonalData", response_model=PersonalData, summary="Erase what a case holds about people",
    description=(
        "Complaint, notes, names, metadata and serial number are gone for good, from kept answers to repeated requests "
        "too; findings, closure and your own number of the job stay, and the advice with them. Backups made before "
        "still hold what was erased. Answers what is left."
    ),
    responses=refusals("unknown-case", parameters=True), openapi_extra=needs("cases:write"),
)
async def erase_personal_data(request: Request, case_id: CaseId) -> Response:
    """Nothing of it any more."""
    service, tenant = service_of(request), caller_of(request).tenant

    async def prepare() -> Work:
        def work(db: Connection) -> Effect:
            before = cases.read(db, tenant, case_id, to_change=True)
            after = personal.erase(db, tenant, before, written(service.clock()))
            told = {"case": after.id, "version": after.version}
            return Effect("case.erased", f"/v1/cases/{after.id}", personal.of_case(after), told=told)

        return work

    return await carried_out(request, prepare)
