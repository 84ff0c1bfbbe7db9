"""What to bring: a kit for one job, a load for a day of jobs."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Annotated, Any

from fastapi import APIRouter, Body, Query, Request, Response
from starlette.concurrency import run_in_threadpool

from api.answering import answer, graph_headers, unchanged
from api.bodies import BodyRoute
from api.consultation import Question, economics_of, question
from api.documented import DIGEST, ETAG, IF_NONE_MATCH, NOT_MODIFIED, REVISION, headers, needs, refusals
from api.routes.case_answers import CaseId, asked_now, tag_of_answer
from api.service import caller_of, service_of
from graph.belief import Belief, believe
from graph.context import Asker
from schemas.answers import GraphStamp, KitAnswer, VanLoadAnswer
from schemas.kit_requests import (
    JobOfCase,
    JobOfEquipment,
    KitForDocument,
    KitRequest,
    KitWanted,
    KitWork,
    VanLoadRequest,
)
from schemas.requests import Context

router = APIRouter(prefix="/v1", tags=["kits"], route_class=BodyRoute)
_PLOT: dict[str, Any] = {"image/svg+xml": {"schema": {"type": "string"}}}
_WHAT = (
    "The best parts, proved: of all kits the one of least money, or of the best chance to finish within limits. With "
    "each part what it adds, with each part left out why, what to ask before driving, and how long the visit will take."
)


@router.post(
    "/kits", operation_id="planKit", response_model=KitAnswer, summary="Ask what to bring for one job",
    description=_WHAT + " Nothing is stored. `asker.parts` are aboard already.",
    responses={
        **refusals("unknown-equipment", "unknown-name", "finding-misfit", "currency-mismatch", "graph-not-usable",
                   "graph-too-large", "kit-infeasible", body=True),
        200: {**headers(DIGEST, REVISION), "content": _PLOT},
    },
    openapi_extra=needs("advice:read"),
)
async def plan(request: Request, body: Annotated[KitRequest, Body()]) -> Response:
    """The kit of one job."""
    service = service_of(request)
    if isinstance(body, KitForDocument):
        stamp, model = await service.inline(body.document)
    else:
        stocked = await service.stocked(caller_of(request), body.equipment, "/equipment")
        stamp, model = stocked.stamp, stocked.model
    return await run_in_threadpool(_packed, stamp, question(model, body, body.findings), body)


@router.get(
    "/cases/{case_id}/kit", operation_id="readCaseKit", response_model=KitAnswer, summary="Read what to bring",
    description=_WHAT + " Findings that were withdrawn don't count.",
    responses={
        **refusals("unknown-case", parameters=True),
        200: {**headers(ETAG, DIGEST, REVISION), "content": _PLOT}, 304: NOT_MODIFIED,
    },
    openapi_extra=needs("cases:read", IF_NONE_MATCH),
)
async def read(request: Request, case_id: CaseId, query: Annotated[KitWork, Query()]) -> Response:
    """The kit of a case."""
    case, asked = await asked_now(request, case_id)
    tag = tag_of_answer(case)
    known = unchanged(request, tag)
    if known is not None:
        return known
    wanted = KitWanted(**query.model_dump())
    return await run_in_threadpool(_packed, case.graph, asked, wanted, {"etag": tag})


@router.post(
    "/cases/{case_id}/kit", operation_id="planCaseKit", response_model=KitAnswer,
    summary="Ask what to bring from what can be had",
    description=_WHAT + " As reading it, with what is in stock and what must be brought. Nothing is stored.",
    responses={
        **refusals("unknown-case", "unknown-name", "kit-infeasible", body=True),
        200: {**headers(DIGEST, REVISION), "content": _PLOT},
    },
    openapi_extra=needs("cases:read"),
)
async def plan_case(request: Request, case_id: CaseId, body: Annotated[KitWanted, Body()]) -> Response:
    """The kit of a case from what can be had."""
    case, asked = await asked_now(request, case_id)
    return await run_in_threadpool(_packed, case.graph, asked, body)


def _packed(
    stamp: GraphStamp, asked: Question, wanted: KitWanted, more: Mapping[str, str] = MappingProxyType({})
) -> Response:
    from api.kit_plot import frontier_svg  # solvers and plots are imported by the first request for a kit
    from api.kitting import kit_answer

    kit = kit_answer(asked, wanted)
    about = {**graph_headers(stamp), **more}
    currency = asked.model.equipment.currency
    if wanted.form == "svg":
        return Response(frontier_svg(kit, currency), 200, about, "image/svg+xml")
    return answer(KitAnswer(stamp, currency, kit, asked.notes), headers=about)


@router.post(
    "/van-loads", operation_id="loadVan", response_model=VanLoadAnswer, summary="Ask what to load for a day of jobs",
    description=(
        "One van, one technician, several jobs in the order of driving, one stock that they share. Says how many jobs "
        "will be finished in one visit: as planned, and as pieces are really used up. Parts go by their numbers, since "
        "the jobs may be of different machines. Nothing is stored."
    ),
    responses=refusals("unknown-case", "unknown-equipment", "unknown-name", "finding-misfit", "currency-mismatch",
                       "kit-infeasible", body=True),
    openapi_extra=needs("cases:read"),
)
async def load(request: Request, body: Annotated[VanLoadRequest, Body()]) -> Response:
    """The load for a day."""
    jobs = [await _job(request, job, i) for i, job in enumerate(body.jobs)]
    return await run_in_threadpool(_loaded, jobs, body)


async def _job(request: Request, job: JobOfCase | JobOfEquipment, number: int) -> tuple[GraphStamp, Belief]:
    if isinstance(job, JobOfCase):
        case, asked = await asked_now(request, job.case)
        return case.graph, believe(asked.model, asked.findings, asked.known)
    stocked = await service_of(request).stocked(caller_of(request), job.equipment, f"/jobs/{number}/equipment")
    asked = question(stocked.model, Context(conditions=job.conditions), job.findings, f"/jobs/{number}")
    return stocked.stamp, believe(asked.model, asked.findings, asked.known)


def _loaded(jobs: list[tuple[GraphStamp, Belief]], wanted: VanLoadRequest) -> Response:
    from api.kitting import van_answer

    beliefs = [belief for _, belief in jobs]
    economics = economics_of(beliefs[0].model.equipment, wanted.economics)
    load = van_answer(
        beliefs, wanted, economics, Asker(licences=frozenset(wanted.licences)),
        {"aboard": wanted.aboard, "stock": wanted.stock, "must_bring": wanted.must_bring},
    )
    notes = dict.fromkeys(b.model.equipment.data_note for b in beliefs if b.model.equipment.data_note)
    return answer(VanLoadAnswer(tuple(stamp for stamp, _ in jobs), load, tuple(notes)))
