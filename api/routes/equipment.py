"""The families of machines the service knows, and what their graphs hold."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Request, Response

from api.answering import answer, graph_headers, unchanged
from api.documented import (
    DIGEST,
    ETAG,
    IF_NONE_MATCH,
    NOT_MODIFIED,
    REVISION,
    AnswerRoute,
    headers,
    needs,
    refusals,
)
from api.registry import Stocked
from api.service import caller_of, service_of
from graph.equipment import Equipment, Observation
from graph.readings.sentences import asked_text, usual_texts
from graph.structure import node_link
from schemas.document import Document
from schemas.listings import (
    CircumstanceLine,
    ConditionLine,
    EquipmentAnswer,
    EquipmentLine,
    EquipmentList,
    NodeLink,
    OutcomeLine,
    ReadingLine,
    SequenceAnswer,
    StepLine,
    SymptomLine,
    SymptomList,
    TestLine,
    TestList,
)
from schemas.text import EquipmentName

router = APIRouter(prefix="/v1/equipment", tags=["equipment"], route_class=AnswerRoute)
EquipmentId = Annotated[EquipmentName, Path(description="id of the equipment")]
_READS = needs("equipment:read")
_RESPONSES = {**refusals("unknown-equipment", parameters=True), 200: headers(DIGEST, REVISION)}


def _send(stocked: Stocked, record: object) -> Response:
    return answer(record, headers=graph_headers(stocked.stamp))


def counts(equipment: Equipment) -> dict[str, int]:
    """How many of everything a graph holds."""
    return {
        "components": len(equipment.components), "failure_modes": len(equipment.modes),
        "signals": len(equipment.signals), "conditions": len(equipment.conditions),
        "symptoms": len(equipment.symptoms), "tests": len(equipment.tests),
        "remedies": len(equipment.remedies), "parts": len(equipment.parts),
    }


def _reading(observation: Observation) -> ReadingLine | None:
    reading = observation.reading
    if reading is None:
        return None
    at = tuple(CircumstanceLine(c.id, c.title, c.unit.ucum, c.usual) for c in reading.circumstances)
    return ReadingLine(asked_text(reading), reading.quantity, reading.unit.ucum, at, usual_texts(reading))


def _outcomes(observation: Observation) -> tuple[OutcomeLine, ...]:
    return tuple(OutcomeLine(o.id, o.title) for o in observation.outcomes)


@router.get(
    "", operation_id="listEquipment", response_model=EquipmentList, summary="List equipment",
    responses=refusals(), openapi_extra=_READS,
    description="The families of machines whose graphs you can use: those that everybody sees, and your own.",
)
async def list_equipment(request: Request) -> Response:
    """All families."""
    families = await service_of(request).catalog.every(caller_of(request).tenant)
    return answer(EquipmentList(tuple(
        EquipmentLine(e.id, e.title, e.category, e.maker, s.stamp.revision or 0, s.stamp.digest)
        for s in families for e in (s.equipment,)
    )))


@router.get(
    "/{equipment_id}", operation_id="readEquipment", response_model=EquipmentAnswer, summary="Read equipment",
    description="What the machines are, which conditions and instruments their graph knows, and its revision.",
    responses=_RESPONSES, openapi_extra=_READS,
)
async def read_equipment(request: Request, equipment_id: EquipmentId) -> Response:
    """One family."""
    stocked = await service_of(request).stocked(caller_of(request), equipment_id)
    e = stocked.equipment
    return _send(stocked, EquipmentAnswer(
        e.id, e.title, e.category, e.maker, e.summary, e.data_note, e.currency, stocked.stamp.revision or 0,
        stocked.stamp.digest, counts(e),
        tuple(
            ConditionLine(
                c.id, c.title, c.titles, dict(zip(c.states, c.shares, strict=True)), c.question, c.id in e.options
            )
            for c in e.conditions.values()
        ),
        e.instruments, {u.id: u.states for u in e.unit_states.values()}, e.cautions,
    ))


@router.get(
    "/{equipment_id}/symptoms", operation_id="listSymptoms", response_model=SymptomList, summary="List symptoms",
    description="What a caller may report: the question to ask, the phrases callers use, the outcomes to record.",
    responses=_RESPONSES, openapi_extra=_READS,
)
async def list_symptoms(request: Request, equipment_id: EquipmentId) -> Response:
    """The symptoms of one family."""
    stocked = await service_of(request).stocked(caller_of(request), equipment_id)
    return _send(stocked, SymptomList(stocked.stamp, tuple(
        SymptomLine(o.id, o.title, " ".join(o.how), o.phrases, _outcomes(o))
        for o in stocked.equipment.symptoms.values()
    )))


@router.get(
    "/{equipment_id}/tests", operation_id="listTests", response_model=TestList, summary="List tests",
    description="Every test: how to do it, its outcomes, who may do it, and the state the unit has to be in.",
    responses=_RESPONSES, openapi_extra=_READS,
)
async def list_tests(request: Request, equipment_id: EquipmentId) -> Response:
    """The tests of one family."""
    stocked = await service_of(request).stocked(caller_of(request), equipment_id)
    return _send(stocked, TestList(stocked.stamp, tuple(
        TestLine(
            o.id, o.title, o.reveals, _outcomes(o), o.minutes, o.role, o.licence, o.instruments, o.hazards, o.how,
            dict(o.needs), o.repeats, _reading(o),
        )
        for o in stocked.equipment.tests.values()
    )))


@router.get(
    "/{equipment_id}/sequence", operation_id="readSequence", response_model=SequenceAnswer,
    summary="Read the operating sequence", description="What should happen, in order, and what can be seen of it.",
    responses=_RESPONSES, openapi_extra=_READS,
)
async def read_sequence(request: Request, equipment_id: EquipmentId) -> Response:
    """The operating sequence of one family."""
    stocked = await service_of(request).stocked(caller_of(request), equipment_id)
    return _send(stocked, SequenceAnswer(stocked.stamp, tuple(
        StepLine(s.id, s.title, s.happens, s.watch, s.minutes, dict(s.shows)) for s in stocked.equipment.sequence
    )))


@router.get(
    "/{equipment_id}/graph", operation_id="readGraph", response_model=NodeLink, summary="Read the graph",
    description="Components, failure modes, signals, symptoms, tests, remedies and parts as node-link data.",
    responses=_RESPONSES, openapi_extra=_READS,
)
async def read_graph(request: Request, equipment_id: EquipmentId) -> Response:
    """The graph of one family."""
    stocked = await service_of(request).stocked(caller_of(request), equipment_id)
    return _send(stocked, node_link(stocked.equipment))


@router.get(
    "/{equipment_id}/document", operation_id="readDocument", response_model=Document, summary="Read the graph document",
    description=(
        "The newest revision, as JSON; what it leaves out has its default. Rates and prices of your own are not in it. "
        "Its ETag is what a revision that follows it names as If-Match."
    ),
    responses={**_RESPONSES, 200: headers(ETAG, DIGEST, REVISION), 304: NOT_MODIFIED},
    openapi_extra=needs("equipment:read", IF_NONE_MATCH),
)
async def read_document(request: Request, equipment_id: EquipmentId) -> Response:
    """The document of one family."""
    stamp, canonical = await service_of(request).catalog.document(caller_of(request).tenant, equipment_id)
    tag = f'"{stamp.digest}"'
    return unchanged(request, tag) or Response(
        canonical.text, 200, {"etag": tag, **graph_headers(stamp)}, "application/json"
    )
