"""Checking a graph document without storing it."""

from __future__ import annotations

from typing import Any

import orjson
from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool

from api.answering import answer
from api.bodies import media_type, whole_body
from api.documented import PUBLIC, AnswerRoute, needs, refusals
from api.problems import Refusal, sound
from api.routes.equipment import counts
from api.service import service_of
from api.shapes import graph_schema
from graph.compile import compile_model
from graph.equipment import Equipment
from graph.errors import Defect, DocumentError, GraphTooLarge
from schemas.listings import AcceptedLine, CheckAnswer, DefectLine
from schemas.load import load_data, load_source
from schemas.source import Source, parse

router = APIRouter(prefix="/v1", tags=["graph documents"], route_class=AnswerRoute)
JSON, YAML = ("application/json",), ("application/yaml", "text/yaml")
_ANYTHING: dict[str, Any] = {"schema": {}}


@router.post(
    "/graph-checks", operation_id="checkGraph", response_model=CheckAnswer, summary="Check a graph document",
    description=(
        "Says whether a document can be used, and if not every defect with its place, line and the nearest valid "
        "name. What can be used is held against the rules at /reference/lint too; what they report "
        "are warnings. The answer is 200 either way; any JSON or YAML is taken. Nothing is stored."
    ),
    responses=refusals("not-json", "body-too-large", "unsupported-content-type"),
    openapi_extra=needs("equipment:read") | {"requestBody": {
        "required": True,
        "content": {"application/json": _ANYTHING, "application/yaml": _ANYTHING, "text/yaml": _ANYTHING},
    }},
)
async def check_graph(request: Request) -> Response:
    """Check one document."""
    settings = service_of(request).settings
    body = await whole_body(request, settings.most_bytes, (*JSON, *YAML))
    if media_type(request) in JSON:
        try:
            data = orjson.loads(body)
        except orjson.JSONDecodeError as error:
            raise Refusal("not-json", str(error)[:200] if body.strip() else "there is no body") from None
        return answer(await run_in_threadpool(_check_json, body, data, settings.inline_hypotheses))
    return answer(await run_in_threadpool(_check_text, body, settings.inline_hypotheses))


def _check_text(body: bytes, limit: int) -> CheckAnswer:
    try:
        source = parse(body)
        return _weighed(load_source(source), limit, source)
    except DocumentError as error:
        return _refused(error)


def _check_json(body: bytes, data: Any, limit: int) -> CheckAnswer:
    """Check data that a JSON parser read; the lines are those the YAML reader gives the same text."""
    source = None
    try:
        source = parse(body)
    except DocumentError as error:
        if error.defects[0].code != "not-parsable":
            return _refused(error)
    try:
        return _weighed(load_data(data), limit, source)
    except DocumentError as error:
        return _refused(error, source)


def _weighed(equipment: Equipment, limit: int, source: Source | None) -> CheckAnswer:
    from graph.lint.linting import lint  # dozens of rules: imported by the first document that is checked

    try:
        model = compile_model(equipment, limit)
    except GraphTooLarge as error:
        path = tuple(error.pointer.split("/")[1:])
        defect = Defect(error.code, path, error.detail, error.expected or "a smaller graph")
        return _refused(DocumentError([defect]), source)
    found = lint(model)
    return CheckAnswer(
        True, (), tuple(_line(d, source) for d in found.remarks),
        tuple(
            AcceptedLine(d.code, sound(d.pointer), _line(d, source).line, sound(d.found), a.reason)
            for d, a in found.accepted
        ),
        counts(equipment),
    )


def _refused(error: DocumentError, source: Source | None = None) -> CheckAnswer:
    return CheckAnswer(False, tuple(_line(d, source) for d in error.defects), (), (), {})


def _line(defect: Defect, source: Source | None) -> DefectLine:
    d = source.locate(defect) if source else defect
    return DefectLine(
        d.code, sound(d.pointer), d.line, sound(d.found), sound(d.expected), d.nearest, sound(d.sentence())
    )


@router.get(
    "/graph-schema", operation_id="readGraphSchema", response_model=dict[str, Any],
    summary="Read the schema of graph documents",
    description="JSON Schema (2020-12) of the graph document, for editors and generators.", responses=refusals(),
    openapi_extra=PUBLIC,
)
async def read_graph_schema() -> Response:
    """The schema of the document."""
    return answer(graph_schema())
