"""What the service answers about one machine and its case, around the core's own records.

Frozen dataclasses that go out as they are; times are UTC, RFC 3339.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from graph.answers import (
    Advice,
    BlockedTest,
    Caution,
    ConflictReport,
    ImplicatedPart,
    NextRemedy,
    NextStep,
    NextTest,
    Suspect,
)
from graph.kit.answers import Kit, VanLoad
from graph.plan_answers import Plan
from graph.policy.path_answers import Path
from graph.testability.answers import Testability
from schemas.requests import AskerGiven, ClosureRequest, EconomicsGiven, OutcomeGiven, ReadingGiven, UnitGiven

Digest = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$", description="SHA-256 of the graph document")]
Moment = Annotated[str, Field(json_schema_extra={"format": "date-time"})]


@dataclass(frozen=True, slots=True)
class GraphStamp:
    """Which graph an answer rests on.

    `revision` is null for a graph sent with the request; `overlay` counts the changes of your own rates and prices,
    null where there are none. The digest is that of the document with them.
    """

    equipment: str
    revision: int | None
    digest: Digest
    overlay: int | None = None


@dataclass(frozen=True, slots=True)
class AdviceAnswer:
    """The whole advice and the graph it rests on."""

    graph: GraphStamp
    advice: Advice


@dataclass(frozen=True, slots=True)
class SuspectsAnswer:
    """The failure modes that may be present, and what speaks against trusting the list."""

    graph: GraphStamp
    suspects: tuple[Suspect, ...]
    unlisted: float
    nothing_wrong: float
    conflict: ConflictReport | None


@dataclass(frozen=True, slots=True)
class PartsAnswer:
    """The parts the repair may need."""

    graph: GraphStamp
    currency: str
    parts: tuple[ImplicatedPart, ...]


@dataclass(frozen=True, slots=True)
class NextTestsAnswer:
    """What to do now, the tests and repairs behind it, and the cautions."""

    graph: GraphStamp
    currency: str
    next_step: NextStep
    plan: Plan
    next_tests: tuple[NextTest, ...]
    blocked_tests: tuple[BlockedTest, ...]
    next_remedies: tuple[NextRemedy, ...]
    cautions: tuple[Caution, ...]
    general_cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PathAnswer:
    """What to do for each outcome, and the graph it rests on."""

    graph: GraphStamp
    path: Path


@dataclass(frozen=True, slots=True)
class KitAnswer:
    """What to bring."""

    graph: GraphStamp
    currency: str
    kit: Kit
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class VanLoadAnswer:
    """What to load for a day of jobs; `graphs` are those of the jobs, in their order."""

    graphs: tuple[GraphStamp, ...]
    load: VanLoad
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TestabilityAnswer:
    """How well a machine's faults can be detected and told apart, and what that costs."""

    graph: GraphStamp
    currency: str
    testability: Testability


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """That and why a finding no longer counts."""

    recorded: Moment
    reason: str
    by: str | None


@dataclass(frozen=True, slots=True)
class FindingRecord:
    """A finding of a case, as it was recorded."""

    number: int
    recorded: Moment
    about: str
    outcome: OutcomeGiven | None
    note: str
    reading: ReadingGiven | None
    by: str | None
    withdrawn: Withdrawn | None


@dataclass(frozen=True, slots=True)
class ClosureRecord:
    """How a case ended."""

    recorded: Moment
    closure: ClosureRequest


@dataclass(frozen=True, slots=True)
class CaseRecord:
    """One service call. `version` grows with every change and is the case's ETag."""

    id: str
    version: int
    status: Literal["open", "closed"]
    graph: GraphStamp
    external_id: str | None
    metadata: Mapping[str, str]
    complaint: str
    conditions: Mapping[str, str]
    asker: AskerGiven
    economics: EconomicsGiven
    unit: UnitGiven
    findings: tuple[FindingRecord, ...]
    closure: ClosureRecord | None
    created: Moment
    updated: Moment


@dataclass(frozen=True, slots=True)
class CaseLine:
    """A case in a list."""

    id: str
    version: int
    status: Literal["open", "closed"]
    equipment: str
    external_id: str | None
    metadata: Mapping[str, str]
    complaint: str
    created: Moment
    updated: Moment


@dataclass(frozen=True, slots=True)
class CasePage:
    """A page of cases; `next` is the cursor of the following one, null on the last.

    Where changes were asked for, send `changed_since` from here with the next request; later, to go on from here.
    """

    cases: tuple[CaseLine, ...]
    next: str | None
    changed_since: Moment | None


@dataclass(frozen=True, slots=True)
class Health:
    """Whether the process lives, or is ready."""

    status: Literal["ok"]
