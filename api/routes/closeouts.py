"""Finished jobs: handed over to a work-order system, and history taken in from one."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Iterator
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Body, Query, Request, Response
from pydantic import TypeAdapter
from sqlalchemy import Connection

from api.answering import answer
from api.bodies import BodyRoute, fitted, whole_body
from api.changes import Effect, Work, carried_out
from api.clock import written as moment
from api.closeouts.record import check_closure, closeout_of, closure_of, in_record
from api.closeouts.table import NotATable, read, written
from api.consultation import question
from api.database import take_turn
from api.documented import IDEMPOTENCY_KEY, LINK, REPEATABLE, AnswerRoute, headers, needs, refusals
from api.problems import Refusal, refusal_of
from api.registry import Stocked
from api.routes.case_answers import CaseId
from api.service import Service, caller_of, service_of
from api.storage import cases, graphs
from api.storage.cases import CaseFilter
from graph.errors import HalfsplitError
from schemas.answers import CaseRecord
from schemas.closeouts import (
    Closeout,
    CloseoutPage,
    CloseoutQuery,
    CloseoutsGiven,
    CloseoutsQuery,
    ImportAnswer,
)
from schemas.problems import ProblemItem
from schemas.requests import CaseRequest

router = APIRouter(prefix="/v1", tags=["finished jobs"], route_class=BodyRoute)
tables = APIRouter(prefix="/v1", tags=["finished jobs"], route_class=AnswerRoute)
_TABLE: dict[str, Any] = {"text/csv": {"schema": {"type": "string"}}}
_CSV = ("text/csv",)
_GIVEN: TypeAdapter[CloseoutsGiven] = TypeAdapter(CloseoutsGiven)
_ALL_OR_NONE = (
    " Every record becomes a closed case, or none does. A record whose `case` is known here, or whose `external_id` is "
    "that of a closed case of the same equipment, is left as it is: the same history can be sent again."
)
_REFUSED = ("unknown-equipment", "closeouts-misfit", *REPEATABLE)


@router.get(
    "/cases/{case_id}/closeout", operation_id="readCloseout", response_model=Closeout,
    summary="Read what a closed case hands over",
    description="Problem, cause, what was done, parts, minutes, and the findings in order, in the words of ISO 14224.",
    responses={**refusals("unknown-case", "case-open", parameters=True), 200: {"content": _TABLE}},
    openapi_extra=needs("cases:read"),
)
async def read_closeout(request: Request, case_id: CaseId, query: Annotated[CloseoutQuery, Query()]) -> Response:
    """One record."""
    case, model = await service_of(request).case(caller_of(request), case_id)
    record = closeout_of(case, model.equipment)
    return _tabled([record]) if query.form == "csv" else answer(record)


@router.get(
    "/closeouts", operation_id="listCloseouts", response_model=CloseoutPage, summary="List finished jobs",
    description="The newest first, a page at a time; as a table too, which opens in a spreadsheet.",
    responses={**refusals(parameters=True), 200: {**headers(LINK), "content": _TABLE}},
    openapi_extra=needs("cases:read"),
)
async def list_closeouts(request: Request, query: Annotated[CloseoutsQuery, Query()]) -> Response:
    """One page of records."""
    service, caller = service_of(request), caller_of(request)

    def work(db: Connection) -> tuple[list[CaseRecord], str | None]:
        chosen = CaseFilter("closed", query.equipment, query.external_id, None)
        page = cases.page(db, caller.tenant, chosen, query.cursor, query.limit)
        return [cases.read(db, caller.tenant, line.id) for line in page.cases], page.next

    found, following = await service.read(work)
    records = [closeout_of(case, (await service.pinned(case.graph)).equipment) for case in found]
    link = None
    if following is not None:
        place = query.model_copy(update={"cursor": following}).model_dump(exclude_none=True)
        link = {"link": f'</v1/closeouts?{urlencode(place)}>; rel="next"'}
    return _tabled(records, link) if query.form == "csv" else answer(CloseoutPage(tuple(records), following),
                                                                     headers=link)


@router.post(
    "/closeouts", operation_id="importCloseouts", status_code=201, response_model=ImportAnswer,
    summary="Take in finished jobs", description="History in the form in which jobs are handed over." + _ALL_OR_NONE,
    responses=refusals(*_REFUSED, body=True), openapi_extra=needs("cases:write", IDEMPOTENCY_KEY),
)
async def import_closeouts(request: Request, body: Annotated[CloseoutsGiven, Body()]) -> Response:
    """Store jobs that ended elsewhere."""
    return await carried_out(request, _import(request, body))


@tables.post(
    "/closeout-tables", operation_id="importCloseoutTable", status_code=201, response_model=ImportAnswer,
    summary="Take in a table of finished jobs",
    description="The same from a CSV table with a head, as GET /v1/closeouts?form=csv writes it." + _ALL_OR_NONE,
    responses=refusals(*_REFUSED, "not-a-table", "body-too-large", "unsupported-content-type"),
    openapi_extra={
        **needs("cases:write", IDEMPOTENCY_KEY), "requestBody": {"required": True, "content": _TABLE},
    },
)
async def import_table(request: Request) -> Response:
    """Store jobs from a table."""
    raw = await whole_body(request, service_of(request).settings.most_bytes, _CSV)
    request._body = raw
    try:
        bodies = read(raw.decode())
    except UnicodeDecodeError as error:
        raise Refusal("not-a-table", f"byte {error.start} is not UTF-8", [
            ProblemItem("", f"byte {error.start} is not UTF-8", "a CSV table in UTF-8")]) from None
    except NotATable as error:
        raise _misfit(error.items) from None
    try:
        given = fitted({"closeouts": bodies}, _GIVEN)
    except Refusal as refusal:
        raise _misfit(refusal.errors) from None
    return await carried_out(request, _import(request, given))


def _misfit(items: tuple[ProblemItem, ...]) -> Refusal:
    return Refusal("not-a-table", f"the table has {len(items)} defect{'s' if len(items) != 1 else ''}", items)


def _tabled(records: list[Closeout], more: dict[str, str] | None = None) -> Response:
    kept = {"content-disposition": 'attachment; filename="closeouts.csv"', **(more or {})}
    return Response(written(records).encode(), 200, kept, "text/csv; charset=utf-8; header=present")


def _import(request: Request, given: CloseoutsGiven) -> Callable[[], Awaitable[Work]]:
    service, caller = service_of(request), caller_of(request)

    async def prepare() -> Work:
        machines: dict[str, Stocked] = {}
        for i, record in enumerate(given.closeouts):
            if record.equipment not in machines:
                machines[record.equipment] = await service.stocked(
                    caller, record.equipment, f"/closeouts/{i}/equipment")
        items = [
            item for i, record in enumerate(given.closeouts)
            for item in _misfits(record, machines[record.equipment], i)
        ]
        if items:
            raise Refusal("closeouts-misfit", f"{len(items)} of the names don't fit; nothing was stored", items)

        def work(db: Connection) -> Effect:
            take_turn(db, f"closeouts/{caller.tenant}")
            imported, known = _stored(service, db, caller.tenant, given.closeouts, machines)
            told = {"cases": imported} if imported else None
            return Effect("case.imported", "/v1/closeouts", ImportAnswer(tuple(imported), tuple(known)), 201, told=told)

        return work

    return prepare


def _misfits(record: Closeout, stocked: Stocked, number: int) -> Iterator[ProblemItem]:
    context, at = CaseRequest(equipment=record.equipment), f"/closeouts/{number}"
    for check in (lambda: question(stocked.model, context, record.findings, at),
                  lambda: check_closure(stocked.equipment, closure_of(record), in_record(number))):
        try:
            check()
        except HalfsplitError as error:
            yield from refusal_of(error).errors


def _stored(
    service: Service, db: Connection, tenant: str, records: list[Closeout], machines: dict[str, Stocked]
) -> tuple[list[str], list[str]]:
    """The names of the cases made, and of those that were there."""
    imported, known = [], []
    for record in records:
        there = _there(db, tenant, record)
        if there is not None:
            known.append(there)
            continue
        stocked, now = machines[record.equipment], moment(service.clock())
        graphs.keep(db, stocked.canonical)
        opened = CaseRequest(
            equipment=record.equipment, complaint=record.problem, external_id=record.external_id, unit=record.unit,
            findings=record.findings,
        )
        case = cases.add(db, tenant, service.names(), opened, stocked.stamp, record.opened)
        cases.close(db, case, closure_of(record), now, record.closed)
        imported.append(case.id)
    return imported, known


def _there(db: Connection, tenant: str, record: Closeout) -> str | None:
    if record.case is not None:
        try:
            return cases.read(db, tenant, record.case).id
        except Refusal:
            pass  # a case of another service, or of another tenant: a new one is made
    return None if record.external_id is None else cases.closed_as(
        db, tenant, record.equipment, record.external_id)
