"""A conversation: what to ask next, and what a free answer means."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Body, Request, Response
from starlette.concurrency import run_in_threadpool

from api.answering import answer, graph_headers
from api.bodies import BodyRoute
from api.consultation import Question, question
from api.documented import DIGEST, REVISION, headers, needs, refusals
from api.routes.case_answers import CaseId, asked_now
from api.service import caller_of, service_of
from graph.conversation.asking import next_turn
from graph.conversation.hearing import hear
from graph.errors import UnknownName
from schemas.answers import GraphStamp
from schemas.question_requests import AnswerMatchRequest, CaseQuestionRequest, QuestionForDocument, QuestionRequest
from schemas.word_answers import AnswerMatchAnswer, QuestionAnswer

router = APIRouter(prefix="/v1", tags=["questions"], route_class=BodyRoute)
_WHAT = (
    "The question whose answer would change most, in money, about who is sent with what; or, where none is worth "
    "the caller's time, how the call goes on: a safe remedy to try, a technician with a kit, or stop and make safe. "
    "After a "
    "danger nothing is asked. `could_not_tell` findings are questions that need not be asked again. Nothing is stored."
)


@router.post(
    "/questions", operation_id="askNext", response_model=QuestionAnswer, summary="Ask what to ask next",
    description=_WHAT,
    responses={
        **refusals("unknown-equipment", "unknown-name", "finding-misfit", "unit-misfit", "currency-mismatch",
                   "graph-not-usable", "graph-too-large", body=True),
        200: headers(DIGEST, REVISION),
    },
    openapi_extra=needs("advice:read"),
)
async def ask(request: Request, body: Annotated[QuestionRequest, Body()]) -> Response:
    """The next question about a machine."""
    service = service_of(request)
    if isinstance(body, QuestionForDocument):
        stamp, model = await service.inline(body.document)
    else:
        stocked = await service.stocked(caller_of(request), body.equipment, "/equipment")
        stamp, model = stocked.stamp, stocked.model
    return await run_in_threadpool(_turn, stamp, question(model, body, body.findings), body, body.said)


@router.post(
    "/cases/{case_id}/questions", operation_id="askNextOfCase", response_model=QuestionAnswer,
    summary="Ask what to ask next in a case",
    description=_WHAT + " Dangers in the case's complaint count as said.",
    responses={**refusals("unknown-case", body=True), 200: headers(DIGEST, REVISION)},
    openapi_extra=needs("cases:read"),
)
async def ask_in_case(request: Request, case_id: CaseId, body: Annotated[CaseQuestionRequest, Body()]) -> Response:
    """The next question of a case."""
    case, asked = await asked_now(request, case_id)
    said = f"{case.complaint}\n{body.said}"
    return await run_in_threadpool(_turn, case.graph, asked, body, said)


def _turn(stamp: GraphStamp, asked: Question, wanted: CaseQuestionRequest, said: str) -> Response:
    turn = next_turn(
        asked.model, asked.findings, asked.passed_over, said=said, known=asked.known, asker=asked.asker,
        economics=asked.economics, audience=wanted.audience, most=wanted.most,
    )
    record = QuestionAnswer(stamp, asked.model.equipment.currency, turn, asked.notes)
    return answer(record, headers=graph_headers(stamp))


@router.post(
    "/answer-matches", operation_id="matchAnswer", response_model=AnswerMatchAnswer,
    summary="Match a free answer with a question's outcomes",
    description=(
        "Which outcome of a symptom or test a free answer means, how surely, and what to ask back where it is not sure "
        "enough. Dangers are heard first. Nothing is recorded."
    ),
    responses={**refusals("unknown-equipment", "unknown-name", body=True), 200: headers(DIGEST, REVISION)},
    openapi_extra=needs("advice:read"),
)
async def match_answer(request: Request, body: Annotated[AnswerMatchRequest, Body()]) -> Response:
    """What a free answer means."""
    stocked = await service_of(request).stocked(caller_of(request), body.equipment, "/equipment")
    observations = stocked.equipment.observations
    if body.about not in observations:
        raise UnknownName("symptom or test", body.about, observations, pointer="/about")
    record = AnswerMatchAnswer(stocked.stamp, hear(observations[body.about], body.words))
    return answer(record, headers=graph_headers(stocked.stamp))
