"""One-shot advice: everything in one request, nothing stored."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Body, Request, Response

from api.answering import answer, graph_headers
from api.bodies import BodyRoute
from api.consultation import answered, question
from api.documented import DIGEST, REVISION, headers, needs, refusals
from api.service import caller_of, service_of
from schemas.answers import AdviceAnswer
from schemas.requests import AdviceForDocument, AdviceRequest

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
    if isinstance(body, AdviceForDocument):
        stamp, model = await service.inline(body.document)
    else:
        stocked = await service.stocked(caller_of(request), body.equipment, "/equipment")
        stamp, model = stocked.stamp, stocked.model
    advice = await answered(question(model, body, body.findings), body)
    return answer(AdviceAnswer(stamp, advice), headers=graph_headers(stamp))
