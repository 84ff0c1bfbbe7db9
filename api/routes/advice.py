"""One-shot advice: everything in one request, nothing stored."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Body, Request, Response
from pydantic import TypeAdapter

from api.access import Caller
from api.answered import Answered
from api.answering import answer, encoded, graph_headers
from api.bodies import BodyRoute, fitted
from api.consultation import answered, question
from api.documented import DIGEST, REQUEST_ID, REVISION, headers, needs, refusals
from api.exchange import exchange_of
from api.problems import Refusal, refusal_of
from api.service import Service, caller_of, service_of
from graph.answers import Advice
from graph.compile import CompiledModel
from graph.errors import HalfsplitError
from schemas.answers import AdviceAnswer, GraphStamp
from schemas.batches import AdviceBatch, AdviceBatchAnswer, BatchItem
from schemas.requests import AdviceForDocument, AdviceForEquipment, AdviceRequest

Asked = AdviceForEquipment | AdviceForDocument
_ONE: TypeAdapter[Any] = TypeAdapter(AdviceRequest)
router = APIRouter(prefix="/v1", tags=["advice"], route_class=BodyRoute)


@router.post(
    "/advice", operation_id="advise", response_model=AdviceAnswer,
    summary="Ask for advice about one broken machine",
    description=(
        "Says which failure modes and parts are implicated, which test to make next and what to bring. Nothing is "
        "stored: send everything that is known each time. Name `equipment` the service knows, or send a graph as "
        "`document`. Findings that contradict each other are answered, with `conflict` saying which to check again."
    ),
    responses={
        **refusals("unknown-equipment", "unknown-name", "finding-misfit", "currency-mismatch", "graph-not-usable",
                   "graph-too-large", body=True),
        200: headers(DIGEST, REVISION),
    },
    openapi_extra=needs("advice:read"),
)
async def advise(request: Request, body: Annotated[AdviceRequest, Body()]) -> Response:
    """Answer one question about one machine."""
    service = service_of(request)
    stamp, model = await _machine(service, caller_of(request), body)
    key = Answered.key(stamp, await request.body())
    whole = service.answered.get(key)
    if whole is None:
        advice = await answered(question(model, body, body.findings), body)
        whole = encoded(AdviceAnswer(stamp, advice))
        service.answered.keep(key, whole)
    return Response(whole, 200, graph_headers(stamp), "application/json")


@router.post(
    "/advice/batches", operation_id="adviseMany", response_model=AdviceBatchAnswer,
    summary="Ask for advice about several machines",
    description=(
        "Each item is what `POST /v1/advice` takes, and is answered for itself: with the advice, or with the problem "
        "that it would have got. Each counts as a request. Nothing is stored."
    ),
    responses=refusals(body=True), openapi_extra=needs("advice:read", REQUEST_ID),
)
async def advise_many(request: Request, body: Annotated[AdviceBatch, Body()]) -> Response:
    """Answer several questions."""
    service, caller, exchange = service_of(request), caller_of(request), exchange_of(request.scope)
    if caller.key is not None and len(body.items) > 1:
        exchange.headers.update(service.limits.take(caller.key, len(body.items) - 1))
    items = []
    for number, item in enumerate(body.items):
        try:
            stamp, advice = await _advised(service, caller, fitted(item, _ONE))
            items.append(BatchItem(200, AdviceAnswer(stamp, advice), None))
        except (Refusal, HalfsplitError) as error:
            refusal = refusal_of(error) if isinstance(error, HalfsplitError) else error
            where = f"{request.scope['path']}#/items/{number}"
            items.append(BatchItem(refusal.kind.status, None, refusal.problem(where, exchange.request_id)))
    return answer(AdviceBatchAnswer(tuple(items)))


async def _advised(service: Service, caller: Caller, body: Asked) -> tuple[GraphStamp, Advice]:
    stamp, model = await _machine(service, caller, body)
    return stamp, await answered(question(model, body, body.findings), body)


async def _machine(service: Service, caller: Caller, body: Asked) -> tuple[GraphStamp, CompiledModel]:
    if isinstance(body, AdviceForDocument):
        return await service.inline(body.document)
    stocked = await service.stocked(caller, body.equipment, "/equipment")
    return stocked.stamp, stocked.model
