"""What a case's findings say: the whole advice, or the piece of it a caller needs."""

from __future__ import annotations

from collections.abc import Callable
from importlib.metadata import version
from typing import Annotated, Any

from fastapi import APIRouter, Path, Query, Request, Response

from api.answering import answer, graph_headers, tag_of, unchanged
from api.consultation import Question, answered, question
from api.documented import DIGEST, ETAG, IF_NONE_MATCH, NOT_MODIFIED, REVISION, AnswerRoute, headers, needs, refusals
from api.service import caller_of, service_of
from api.storage.cases import context_of
from graph.answers import Advice
from graph.compile import CompiledModel
from schemas.answers import (
    AdviceAnswer,
    CaseRecord,
    GraphStamp,
    NextTestsAnswer,
    PartsAnswer,
    SuspectsAnswer,
)
from schemas.requests import AdviceWanted, CaseName

router = APIRouter(prefix="/v1/cases/{case_id}", tags=["case answers"], route_class=AnswerRoute)
CaseId = Annotated[CaseName, Path(description="id of the case")]
Part = Callable[[GraphStamp, Advice], object]
_ENGINE = version("halfsplit")


def _suspects(stamp: GraphStamp, a: Advice) -> SuspectsAnswer:
    return SuspectsAnswer(stamp, a.suspects, a.unlisted, a.nothing_wrong, a.conflict)


def _parts(stamp: GraphStamp, a: Advice) -> PartsAnswer:
    return PartsAnswer(stamp, a.currency, a.parts)


def _next_tests(stamp: GraphStamp, a: Advice) -> NextTestsAnswer:
    return NextTestsAnswer(
        stamp, a.currency, a.next_step, a.plan, a.next_tests, a.blocked_tests, a.next_remedies, a.cautions,
        a.general_cautions,
    )


async def asked_now(request: Request, name: str) -> tuple[CaseRecord, Question]:
    """A case of the caller's and what it asks now. Raises Refusal unknown-case."""
    case, model = await service_of(request).case(caller_of(request), name)
    return case, asked_of(case, model)


def asked_of(case: CaseRecord, model: CompiledModel) -> Question:
    """What a case asks now."""
    context = context_of(case)
    return question(model, context, [f for f in case.findings if f.withdrawn is None])


def tag_of_answer(case: CaseRecord) -> str:
    """The ETag of what a case's findings say: it changes with the case and with the engine."""
    return f'{tag_of(case)[:-1]}-{_ENGINE}"'


def _piece(path: str, name: str, model: Any, part: Part, summary: str, description: str) -> None:
    async def read(request: Request, case_id: CaseId, query: Annotated[AdviceWanted, Query()]) -> Response:
        case, asked = await asked_now(request, case_id)
        tag = tag_of_answer(case)
        known = unchanged(request, tag)
        if known is not None:
            return known
        advice = await answered(asked, query)
        return answer(part(case.graph, advice), headers={"etag": tag, **graph_headers(case.graph)})

    router.add_api_route(
        path, read, methods=["GET"], operation_id=name, response_model=model, summary=summary,
        description=description + " Findings that were withdrawn don't count.",
        responses={
            **refusals("unknown-case", parameters=True), 200: headers(ETAG, DIGEST, REVISION), 304: NOT_MODIFIED,
        },
        openapi_extra=needs("cases:read", IF_NONE_MATCH),
    )


_piece("/advice", "readCaseAdvice", AdviceAnswer, AdviceAnswer, "Read a case's advice",
       "The whole answer: suspects, parts, next tests and repairs, kit, conflict, cautions and notes.")
_piece("/suspects", "readCaseSuspects", SuspectsAnswer, _suspects, "Read which failure modes are implicated",
       "The failure modes that may be present, likeliest first, with the weight of each finding.")
_piece("/parts", "readCaseParts", PartsAnswer, _parts, "Read which parts are implicated",
       "The parts the usual repairs need, likeliest first.")
_piece("/next-tests", "readCaseNextTests", NextTestsAnswer, _next_tests, "Read which test comes next",
       "The next step, and the questions, tests and repairs behind it, with what each outcome would change.")
