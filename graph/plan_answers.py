"""What is answered of the plan behind the next step: frozen records that go out as they are."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from graph.records import DOCUMENTED


@dataclass(frozen=True)
class PlanOption:
    """A first job, and what the visit is expected to cost when it starts with that."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    kind: Literal["ask", "test", "repair", "end"]
    id: str | None
    title: str
    expected_cost: float
    """Money to a verified repair, parts, wrong repairs and return trips counted."""


@dataclass(frozen=True)
class EvidenceAtStake:
    """Something to look at before a job that destroys it, and what looking first is worth."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    look: str
    title: str
    destroyed_by: str
    bits: float
    saves: float | None
    """Money that looking first saves; null where it was not priced."""
    sentence: str


@dataclass(frozen=True)
class RateMargin:
    """How far a leading rate could be wrong before another job would come first."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    failure_mode: str
    title: str
    factor: float | None
    """Times the rate; null: neither 8 times nor an eighth changes anything."""
    then: str | None
    """The job that would come first, `end` for ending the visit."""
    sentence: str


@dataclass(frozen=True)
class Plan:
    """The rest of the visit as it is expected to go, and how sure the next step is."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    expected_cost: float | None
    """Money from here to a verified repair; null where nothing was planned (no budget, or a site contact)."""
    lower_bound: float
    """No plan whatever costs less."""
    gap: float | None
    """(expected cost - lower bound) / expected cost."""
    optimal: bool
    """The next step is proved to start a cheapest plan."""
    budget_ms: float
    """Planning effort, in milliseconds of a plain server; counted, so that the same question has the same answer."""
    options: tuple[PlanOption, ...]
    """First jobs that were compared: the next step, then the others, cheapest first."""
    at_stake: tuple[EvidenceAtStake, ...]
    margins: tuple[RateMargin, ...]
    """Only where asked for."""
    sentence: str
