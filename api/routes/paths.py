"""The tree of a visit: what to do for each outcome, as data or as a chart to print."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Body, Query, Request, Response
from starlette.concurrency import run_in_threadpool

from api.answering import answer, graph_headers
from api.bodies import BodyRoute
from api.consultation import Question, question, visit_path
from api.documented import DIGEST, REVISION, headers, needs, refusals
from api.routes.case_answers import CaseId, asked_now
from api.service import caller_of, service_of
from schemas.answers import GraphStamp, PathAnswer
from schemas.requests import PathForDocument, PathRequest, PathWanted

router = APIRouter(prefix="/v1", tags=["paths"], route_class=BodyRoute)
_CHARTS: dict[str, Any] = {
    kind: {"schema": {"type": "string"}} for kind in ("text/plain; charset=utf-8", "image/svg+xml")
}
_DESCRIPTION = (
    "Follows every outcome to what is done next, the likeliest ways first, until the visit ends or a limit is reached; "
    "what is left out is said. `form` makes it a service chart for someone without signal. It takes a second or two."
)


@router.post(
    "/paths", operation_id="drawPath", response_model=PathAnswer,
    summary="Ask for the tree of a whole visit", description=_DESCRIPTION + " Nothing is stored.",
    responses={
        **refusals("unknown-equipment", "unknown-name", "finding-misfit", "currency-mismatch", "graph-not-usable",
                   "graph-too-large", body=True),
        200: {**headers(DIGEST, REVISION), "content": _CHARTS},
    },
    openapi_extra=needs("advice:read"),
)
async def draw(request: Request, body: Annotated[PathRequest, Body()]) -> Response:
    """The tree of one visit."""
    service = service_of(request)
    if isinstance(body, PathForDocument):
        stamp, model = await service.inline(body.document)
    else:
        stocked = await service.stocked(caller_of(request), body.equipment, "/equipment")
        stamp, model = stocked.stamp, stocked.model
    return await run_in_threadpool(_drawn, stamp, question(model, body, body.findings), body)


@router.get(
    "/cases/{case_id}/path", operation_id="readCasePath", response_model=PathAnswer,
    summary="Read the tree of a case's visit", description=_DESCRIPTION + " Findings that were withdrawn don't count.",
    responses={
        **refusals("unknown-case", parameters=True), 200: {**headers(DIGEST, REVISION), "content": _CHARTS},
    },
    openapi_extra=needs("cases:read"),
)
async def read(request: Request, case_id: CaseId, query: Annotated[PathWanted, Query()]) -> Response:
    """The tree of a case from where it is."""
    case, asked = await asked_now(request, case_id)
    return await run_in_threadpool(_drawn, case.graph, asked, query)


def _drawn(stamp: GraphStamp, asked: Question, wanted: PathWanted) -> Response:
    from api.chart import chart_text  # charts, kits and reports are imported by the first request for one
    from api.chart_sheets import chart_svg

    tree = visit_path(asked, wanted)
    about = graph_headers(stamp)
    if wanted.form == "text":
        return Response(chart_text(tree), 200, about, "text/plain; charset=utf-8")
    if wanted.form == "svg":
        return Response(chart_svg(tree, wanted.paper), 200, about, "image/svg+xml")
    return answer(PathAnswer(stamp, tree), headers=about)
