"""What the service answers about a family of machines: its lists, its graph, the check of a document."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field

from schemas.answers import Digest, GraphStamp

Sentence = Annotated[str, Field(description="the same for people")]


@dataclass(frozen=True, slots=True)
class EquipmentLine:
    """A family of machines in a list."""

    id: str
    title: str
    category: str
    maker: str
    revision: int
    digest: Digest


@dataclass(frozen=True, slots=True)
class EquipmentList:
    """The families of machines this service knows."""

    equipment: tuple[EquipmentLine, ...]


@dataclass(frozen=True, slots=True)
class ConditionLine:
    """A condition that may be given with a request."""

    id: str
    title: str
    states: Mapping[str, str]
    shares: Mapping[str, float]
    question: str
    option: bool


@dataclass(frozen=True, slots=True)
class EquipmentAnswer:
    """One family of machines: what it is, how large its graph, what to know before asking."""

    id: str
    title: str
    category: str
    maker: str
    summary: str
    data_note: str
    currency: str
    revision: int
    digest: Digest
    counts: Mapping[str, int]
    conditions: tuple[ConditionLine, ...]
    instruments: Mapping[str, str]
    unit_states: Mapping[str, tuple[str, ...]]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OutcomeLine:
    """An outcome a finding may name."""

    id: str
    title: str


@dataclass(frozen=True, slots=True)
class SymptomLine:
    """What a caller may report, how to ask for it and how callers say it."""

    id: str
    title: str
    question: str
    phrases: tuple[str, ...]
    outcomes: tuple[OutcomeLine, ...]


@dataclass(frozen=True, slots=True)
class SymptomList:
    """The symptoms of a family of machines."""

    graph: GraphStamp
    symptoms: tuple[SymptomLine, ...]


@dataclass(frozen=True, slots=True)
class CircumstanceLine:
    """Something that a reading depends on: its unit (UCUM) and what is taken where nobody says."""

    id: str
    title: str
    unit: str
    usual: float


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """The number that a test reads: what to give, quantity, unit (UCUM), what it depends on, and what is usual."""

    title: str
    quantity: str
    unit: str
    at: tuple[CircumstanceLine, ...]
    usual: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TestLine:
    """A test, how to do it and who may."""

    __test__ = False

    id: str
    title: str
    reveals: str
    outcomes: tuple[OutcomeLine, ...]
    minutes: float
    role: str
    licence: str | None
    instruments: tuple[str, ...]
    hazards: tuple[str, ...]
    how: tuple[str, ...]
    needs: Mapping[str, str]
    repeats: int
    reading: Annotated[ReadingLine | None, Field(description="the number it reads, if any")]


@dataclass(frozen=True, slots=True)
class TestList:
    """The tests of a family of machines."""

    __test__ = False

    graph: GraphStamp
    tests: tuple[TestLine, ...]


@dataclass(frozen=True, slots=True)
class StepLine:
    """One step of the operating sequence."""

    id: str
    title: str
    happens: str
    watch: str
    minutes: float | None
    shows: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class SequenceAnswer:
    """What should happen, in order."""

    graph: GraphStamp
    steps: tuple[StepLine, ...]


@dataclass(frozen=True, slots=True)
class NodeLink:
    """The graph as node-link data: typed nodes and typed, directed edges."""

    directed: bool
    multigraph: bool
    graph: Mapping[str, Any]
    nodes: tuple[Mapping[str, Any], ...]
    edges: tuple[Mapping[str, Any], ...]


@dataclass(frozen=True, slots=True)
class DefectLine:
    """One thing wrong with a document."""

    code: str
    pointer: str
    line: int | None
    found: str
    expected: str
    nearest: str | None
    sentence: Sentence


@dataclass(frozen=True, slots=True)
class AcceptedLine:
    """What a rule would warn of, and why the document's author stands by it."""

    code: str
    pointer: str
    line: int | None
    found: str
    reason: str


@dataclass(frozen=True, slots=True)
class CheckAnswer:
    """Whether a document can be used, and what is odd in it; `counts` are empty where it can't."""

    usable: bool
    defects: Annotated[tuple[DefectLine, ...], Field(description="why it can't be used")]
    warnings: Annotated[tuple[DefectLine, ...], Field(description="what the rules at /reference/lint report")]
    accepted: Annotated[tuple[AcceptedLine, ...], Field(description="what they report and the document accepts")]
    counts: Mapping[str, int]
