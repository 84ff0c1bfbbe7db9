"""How well a machine's faults can be detected and told apart."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from starlette.concurrency import run_in_threadpool

from api.answering import answer, graph_headers
from api.documented import DIGEST, REVISION, AnswerRoute, headers, needs, refusals
from api.registry import Stocked
from api.routes.equipment import EquipmentId
from api.service import caller_of, service_of
from schemas.answers import TestabilityAnswer
from schemas.requests import TestabilityWanted

router = APIRouter(prefix="/v1/equipment", tags=["equipment"], route_class=AnswerRoute)
_SHEET: dict[str, Any] = {"image/svg+xml": {"schema": {"type": "string"}}}


@router.get(
    "/{equipment_id}/testability", operation_id="readTestability", response_model=TestabilityAnswer,
    summary="Read the testability report", description=(
        "For crews from the caller on the phone to the fully licensed technician: the fractions of faults detected and "
        "isolated, the worst ambiguity groups with what would split them best and, from simulated calls, the tests, "
        "minutes and money to a verified repair."
    ),
    responses={
        **refusals("unknown-equipment", "unknown-name", parameters=True),
        200: {**headers(DIGEST, REVISION), "content": _SHEET},
    },
    openapi_extra=needs("equipment:read"),
)
async def read(request: Request, equipment_id: EquipmentId, query: Annotated[TestabilityWanted, Query()]) -> Response:
    """The report on one family."""
    stocked = await service_of(request).stocked(caller_of(request), equipment_id)
    return await run_in_threadpool(_written, stocked, query)


def _written(stocked: Stocked, wanted: TestabilityWanted) -> Response:
    from api.testability import rated  # the simulator is imported by the first request for a report
    from api.testability_sheet import testability_svg

    report = rated(stocked.model, wanted.calls, tuple(wanted.licences), tuple(wanted.instruments))
    about, equipment = graph_headers(stocked.stamp), stocked.equipment
    if wanted.form == "svg":
        return Response(testability_svg(report, equipment.title, equipment.currency), 200, about, "image/svg+xml")
    return answer(TestabilityAnswer(stocked.stamp, equipment.currency, report), headers=about)
