"""The testability report as it goes out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from graph.equipment import Licence, Role


@dataclass(frozen=True, slots=True)
class Share:
    """A fraction of the faults: weighted by how often each comes up, and every failure mode counted once."""

    by_rate: float
    by_count: float


@dataclass(frozen=True, slots=True)
class Split:
    """What would tell a group apart best: a test that the crew can't make, or a signal that no test of theirs reads.

    `missing` is what the crew lacks for the test, `bits` what it tells of the repair within the group (of the cause,
    where one repair serves all).
    """

    kind: Literal["test", "signal"]
    name: str
    title: str
    missing: tuple[str, ...]
    bits: float


@dataclass(frozen=True, slots=True)
class Group:
    """An ambiguity group: failure modes that no observation open to the crew tells apart.

    `calls_per_thousand` are the calls that end in it, `mistaken` those of them that the best single repair would not
    put right. `split` is None where nothing in the graph tells its modes apart.
    """

    failure_modes: tuple[str, ...]
    calls_per_thousand: float
    mistaken: float
    one_repair: bool
    split: Split | None
    sentence: str


@dataclass(frozen=True, slots=True)
class Estimate:
    """A mean over simulated calls and half the width of its 95 % interval."""

    mean: float
    within: float


@dataclass(frozen=True, slots=True)
class VisitCost:
    """What it takes to a verified repair, from simulated calls: tests, minutes of the visit, money in all.

    Money holds the return trip where there is one; `first_visit` is the share of calls put right without.
    """

    calls: int
    tests: Estimate
    minutes: Estimate
    money: Estimate
    first_visit: float


@dataclass(frozen=True, slots=True)
class CrewTestability:
    """How testable the machine is for one crew: a role, licences, and instruments (None: all that its tests use).

    `detected` is the fraction of the faults that any open observation shows (fraction of faults detected);
    `isolated_to_1`, `_2` and `_3` the fractions of the detected ones in ambiguity groups of at most so many modes
    (fraction of faults isolated); `one_repair` that in groups which one repair puts right. `unseen` are failure modes
    never detected.
    """

    title: str
    role: Role
    licences: tuple[Licence, ...]
    instruments: tuple[str, ...] | None
    observations: int
    detected: Share
    isolated_to_1: Share
    isolated_to_2: Share
    isolated_to_3: Share
    one_repair: Share
    unseen: tuple[str, ...]
    groups: tuple[Group, ...]
    cost: VisitCost | None
    sentence: str


@dataclass(frozen=True, slots=True)
class Testability:
    """The report: one line a crew, the least equipped first."""

    failure_modes: int
    crews: tuple[CrewTestability, ...]
