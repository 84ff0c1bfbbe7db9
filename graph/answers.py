"""What Halfsplit answers: frozen records that go out as they are.

Chances are 0..1, gains bits, times minutes, money in `Advice.currency`. Every record that claims
something carries the same claim as one plain `sentence`. They have no slots: the encoder reads a record's
own dictionary five times as fast.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar, Literal

from graph.kit.answers import Kit
from graph.plan_answers import Plan
from graph.records import DOCUMENTED


@dataclass(frozen=True)
class EvidenceWeight:
    """What one finding does for one suspect, all other findings staying."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    about: str
    """The observation or remedy the finding is about."""
    said: str
    """What was found, in words."""
    decibans: float
    """Ten times the log10 of the factor on the suspect's odds; within -100 and 100."""
    sentence: str


@dataclass(frozen=True)
class PathStep:
    """One signal that a fault disturbs on its way to what was seen."""

    signal: str
    title: str
    state: str


@dataclass(frozen=True)
class SignalPath:
    """How a failure mode leads to one finding."""

    about: str
    steps: tuple[PathStep, ...]
    sentence: str


@dataclass(frozen=True)
class Suspect:
    """A failure mode that may be present now."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    failure_mode: str
    """`component.mode`."""
    title: str
    component: str
    chance: float
    """P(present | findings)."""
    usual_chance: float
    """P(present) before any finding."""
    remedies: tuple[str, ...]
    """What repairs it, the usual repair first."""
    cannot_be_told_from: tuple[str, ...]
    """Other suspects that no test open to this asker would separate from it."""
    evidence: tuple[EvidenceWeight, ...]
    """Strongest first."""
    paths: tuple[SignalPath, ...]
    sentence: str


@dataclass(frozen=True)
class ComponentChance:
    """A component and the chance that it is not right."""

    component: str
    title: str
    chance: float
    external: bool


@dataclass(frozen=True)
class ImplicatedPart:
    """A part and the chance that the usual repair needs it."""

    part: str
    number: str
    title: str
    chance: float
    price: float
    remedies: tuple[str, ...]
    sentence: str


@dataclass(frozen=True)
class SuspectChance:
    """A failure mode and its chance after an outcome."""

    failure_mode: str
    title: str
    chance: float


@dataclass(frozen=True)
class OutcomeEffect:
    """What one outcome of a proposed test would change."""

    outcome: str
    title: str
    chance: float
    suspects: tuple[SuspectChance, ...]
    sentence: str


@dataclass(frozen=True)
class Series:
    """How often to repeat a test until a run without a miss is worth believing."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    times: int
    minutes: float
    """Of the whole series, with bringing the unit into the state it needs."""
    chance_before: float
    """Of a fault that comes and goes and that this test may show."""
    chance_after_clean: float
    """The same after a series without a miss."""
    sentence: str


@dataclass(frozen=True)
class NextTest:
    """A question, look or test worth making, best first."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    test: str
    kind: Literal["symptom", "test"]
    title: str
    how: tuple[str, ...]
    role: str
    licence: str | None
    instruments: tuple[str, ...]
    hazards: tuple[str, ...]
    needs: Mapping[str, str]
    """Unit state it needs."""
    repeats: int
    """How often to do it: an intermittent fault does not show every time."""
    minutes: float
    """Hands-on minutes and the minutes to bring the unit into the state it needs."""
    price: float
    gain: float
    """Expected drop of uncertainty about the repair, bits."""
    gain_hypotheses: float
    """Expected drop of uncertainty about the exact cause, bits."""
    gain_per_price: float
    """Bits for one unit of money: the ranking."""
    look_first: tuple[str, ...]
    """Tests whose evidence this one destroys and that are still worth making: make them first."""
    series: Series | None
    """How often to repeat it, where a fault that comes and goes is in question and the visit was planned."""
    outcomes: tuple[OutcomeEffect, ...]
    reading: str | None
    """Which number to give, in which unit, with which circumstances, where the test reads one."""
    sentence: str


@dataclass(frozen=True)
class BlockedTest:
    """A test that would be worth making, and what stands in its way."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    test: str
    title: str
    gain: float
    missing: tuple[str, ...]
    saves: float | None
    """Money that it would save over the whole visit; null where nothing was planned."""
    saves_minutes: float | None
    """The same as minutes at the labour rate."""
    sentence: str


@dataclass(frozen=True)
class NextRemedy:
    """A repair that may be worth trying now, best first."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    remedy: str
    title: str
    how: tuple[str, ...]
    chance: float
    """P(it puts everything right)."""
    minutes: float
    """Hands-on, setting up and verifying."""
    price: float
    """Minutes at the labour rate, and the parts."""
    score: float
    """Bits of uncertainty removed for one unit of money and chance of not fixing it."""
    role: str
    licence: str | None
    hazards: tuple[str, ...]
    parts: Mapping[str, int]
    verify: str | None
    look_first: tuple[str, ...]
    sentence: str


@dataclass(frozen=True)
class NextStep:
    """The one thing to do now."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    kind: Literal["ask", "test", "repair", "return", "close", "support"]
    """`return` is a repair whose parts are not at hand."""
    id: str | None
    title: str
    switching: tuple[str, ...]
    """How to bring the unit into the state that is needed, in the order in which it is safe."""
    sentence: str


@dataclass(frozen=True)
class ConflictReport:
    """Findings that don't fit together."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    nats: float
    """log(product of each finding's chance / chance of all together); capped at 1000."""
    withdraw: tuple[tuple[str, ...], ...]
    """Findings (or pairs) whose withdrawal resolves it: check these again."""
    sentence: str


@dataclass(frozen=True)
class ExpectedReading:
    """What an instrument should show in some states."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    states: tuple[str, ...]
    """The states of what the test reveals that read so."""
    title: str
    low: float | None
    """The usual range, in the reading's unit; null where it is open. Nineteen readings in twenty around a value."""
    high: float | None
    off: float
    """How far off the reading is, in spreads (with instrument and tolerance); 0 inside a band, negative below."""
    sentence: str


@dataclass(frozen=True)
class ReadingReport:
    """A number from an instrument, held against what was expected."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    test: str
    title: str
    given: str
    """As it was given, with what was said of circumstances."""
    value: float
    """In the unit of the test."""
    unit: str
    """UCUM code of that unit."""
    outcome: str
    """The outcome that was named with it, or that it amounts to. The number is believed, not the name."""
    expected: tuple[ExpectedReading, ...]
    state: str | None
    """The state that it fits best; null where it fits none."""
    fits: bool
    """Whether it is sooner a reading of some state than a slip."""
    chance_of_slip: float
    """How often this test gives a number that is not of the state."""
    slip: str | None
    """The likeliest slip that would make it fit, where it does not."""
    assumed: tuple[str, ...]
    """What was taken for granted."""
    sentence: str


@dataclass(frozen=True)
class ConditionReport:
    """A condition: what is known, or what is thought and how to find out."""

    condition: str
    title: str
    known: str | None
    shares: Mapping[str, float]
    question: str


@dataclass(frozen=True)
class Caution:
    """What can hurt someone in the proposed work, and the usual precautions."""

    hazard: str
    title: str
    precautions: tuple[str, ...]
    applies_to: tuple[str, ...]


@dataclass(frozen=True)
class Advice:
    """The whole answer about one broken machine."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    equipment: str
    title: str
    currency: str
    summary: str
    next_step: NextStep
    plan: Plan
    suspects: tuple[Suspect, ...]
    components: tuple[ComponentChance, ...]
    unlisted: float
    """P(the cause is not in this graph)."""
    nothing_wrong: float
    """P(nothing is wrong, or no longer)."""
    uncertainty: float
    """Entropy over repairs, bits."""
    parts: tuple[ImplicatedPart, ...]
    next_tests: tuple[NextTest, ...]
    blocked_tests: tuple[BlockedTest, ...]
    next_remedies: tuple[NextRemedy, ...]
    kit: Kit
    conflict: ConflictReport | None
    readings: tuple[ReadingReport, ...]
    """The numbers among the findings, in their order."""
    conditions: tuple[ConditionReport, ...]
    cautions: tuple[Caution, ...]
    general_cautions: tuple[str, ...]
    notes: tuple[str, ...]
