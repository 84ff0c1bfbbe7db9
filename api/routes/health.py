"""Whether the service lives and is ready."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response
from sqlalchemy.exc import SQLAlchemyError
from starlette.concurrency import run_in_threadpool

from api.answering import answer
from api.documented import PUBLIC, AnswerRoute, refusals
from api.problems import Refusal
from api.service import service_of
from schemas.answers import Health

router = APIRouter(prefix="/v1", tags=["health"], route_class=AnswerRoute)


@router.get(
    "/health", operation_id="readHealth", response_model=Health, summary="Read whether the process lives",
    description="Never touches the database: a slow database is no reason to restart the process.",
    responses=refusals(), openapi_extra=PUBLIC,
)
async def read_health() -> Response:
    """The process lives."""
    return answer(Health("ok"))


@router.get(
    "/ready", operation_id="readReadiness", response_model=Health, summary="Read whether the service is ready",
    description="Ready means that the database answers.", responses=refusals("not-ready"), openapi_extra=PUBLIC,
)
async def read_readiness(request: Request) -> Response:
    """The database answers."""
    try:
        await run_in_threadpool(service_of(request).database.answers)
    except SQLAlchemyError as error:
        raise Refusal("not-ready", f"the database doesn't answer: {type(error).__name__}") from None
    return answer(Health("ok"))
