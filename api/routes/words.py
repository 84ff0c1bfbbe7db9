"""A caller's words: which symptoms, which machine, and what is dangerous."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Body, Query, Request, Response
from starlette.concurrency import run_in_threadpool

from api.answering import answer
from api.bodies import BodyRoute
from api.documented import needs, refusals
from api.service import caller_of, service_of
from api.wording import heard
from graph.words.machines import machines_of
from schemas.word_answers import EquipmentMatchesAnswer, SymptomMatchesAnswer
from schemas.word_requests import EquipmentMatchQuery, SymptomMatchRequest

router = APIRouter(prefix="/v1", tags=["words"], route_class=BodyRoute)


@router.post(
    "/symptom-matches", operation_id="matchSymptoms", response_model=SymptomMatchesAnswer,
    summary="Match a caller's words with symptoms",
    description=(
        "Dangers first: where there are any, say their instructions and ask nothing more. Then each thing that was "
        "said with the symptoms it may mean; what is denied (“it isn't leaking”) is `absent`, never present. What is "
        "like "
        "nothing is left out. Candidates are for the caller to confirm: nothing is recorded, nothing is stored."
    ),
    responses=refusals("unknown-equipment", body=True), openapi_extra=needs("advice:read"),
)
async def match(request: Request, body: Annotated[SymptomMatchRequest, Body()]) -> Response:
    """The symptoms that words may mean."""
    service, caller = service_of(request), caller_of(request)
    families = await service.catalog.every(caller.tenant)
    stocked = families if body.equipment is None else [await service.stocked(caller, body.equipment, "/equipment")]
    known = [s.equipment for s in families]
    matches = await run_in_threadpool(
        heard, [s.equipment for s in stocked], body.words, body.most, service.settings.sentences, known,
    )
    return answer(SymptomMatchesAnswer(tuple(s.stamp for s in stocked), matches))


@router.get(
    "/equipment-matches", operation_id="matchEquipment", response_model=EquipmentMatchesAnswer,
    summary="Find the machine a caller names",
    description="Model, maker or nickname, badly typed or not. An empty list says that nothing is plausible.",
    responses=refusals(parameters=True), openapi_extra=needs("advice:read"),
)
async def find(request: Request, query: Annotated[EquipmentMatchQuery, Query()]) -> Response:
    """The machines that a name may mean."""
    families = await service_of(request).catalog.every(caller_of(request).tenant)
    return answer(EquipmentMatchesAnswer(machines_of([s.equipment for s in families], query.words)))
