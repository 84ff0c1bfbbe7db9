"""From what a caller said to what the core is asked, checked against the machine's own names."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from starlette.concurrency import run_in_threadpool

from graph.advice import advise
from graph.answers import Advice
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.equipment import Equipment
from graph.errors import CurrencyMismatch, UnknownName, nearest_name
from graph.evidence import NEUTRAL, Finding
from graph.policy.path import path_of
from graph.policy.path_answers import Path
from schemas.asked import Given, asker_of, findings_of
from schemas.requests import (
    AdviceWanted,
    AskerGiven,
    Context,
    EconomicsGiven,
    PathWanted,
    UnitGiven,
)

_PASSED = ("could_not_tell", "skipped")


@dataclass(frozen=True, slots=True)
class Question:
    """Everything the core is asked about one machine."""

    model: CompiledModel
    findings: tuple[Finding, ...]
    known: Mapping[str, str]
    asker: Asker
    economics: Economics
    passed_over: tuple[str, ...]
    notes: tuple[str, ...]

    def answer(self, wanted: AdviceWanted) -> Advice:
        """The core's advice."""
        return advise(
            self.model, self.findings, known=self.known, asker=self.asker, economics=self.economics,
            passed_over=self.passed_over, most=wanted.most, budget=wanted.budget_ms, margins=wanted.margins,
            notes=self.notes,
        )


async def answered(asked: Question, wanted: AdviceWanted) -> Advice:
    """The core's advice; planned aside, so that others don't wait for it."""
    return await run_in_threadpool(asked.answer, wanted) if wanted.budget_ms > 0 else asked.answer(wanted)


def visit_path(asked: Question, wanted: PathWanted) -> Path:
    """The tree of the visit that a question begins."""
    return path_of(
        asked.model, asked.findings, known=asked.known, asker=asked.asker, economics=asked.economics,
        passed_over=asked.passed_over, depth=wanted.depth, most_nodes=wanted.most_steps,
        least_chance=wanted.least_chance, budget=wanted.budget_ms,
    )


def question(model: CompiledModel, context: Context, given: Sequence[Given], at: str = "") -> Question:
    """The question that a context and findings pose. Raises what the core refuses, with JSON Pointers from `at`."""
    equipment = model.equipment
    for name, state in context.conditions.items():
        if name not in equipment.conditions:
            raise UnknownName("condition", name, equipment.conditions, pointer=f"{at}/conditions/{name}")
        states = equipment.conditions[name].states
        if state not in states:
            raise UnknownName(f"state of {name}", state, states, pointer=f"{at}/conditions/{name}")
    findings = findings_of(model, given, at)
    return Question(
        model, findings, dict(context.conditions), asker_of(equipment, context.asker),
        economics_of(equipment, context.economics), _passed_over(given),
        (*_unused_notes(equipment, context.asker), *_reading_notes(equipment, given), *_age_notes(context.unit)),
    )


def economics_of(equipment: Equipment, given: EconomicsGiven) -> Economics:
    """What time costs; the core's defaults where nothing was said. Raises CurrencyMismatch."""
    if given.currency is not None and given.currency != equipment.currency:
        raise CurrencyMismatch(
            f"the costs are in {given.currency}, the prices of {equipment.id} in {equipment.currency}",
            pointer="/economics/currency", expected=equipment.currency,
        )
    return Economics(**{name: value for name, value in given if value is not None and name != "currency"})


def _passed_over(given: Sequence[Given]) -> tuple[str, ...]:
    """The observations whose newest finding says that it could not be told, or was skipped."""
    newest = {g.about: {g.outcome} if isinstance(g.outcome, str) else set(g.outcome or {"read"}) for g in given}
    return tuple(
        about for about, names in newest.items() if names <= set(NEUTRAL) and names & set(_PASSED)
    )


def _unused_notes(equipment: Equipment, asker: AskerGiven) -> Iterator[str]:
    for kind, use, given, known in (
        ("instrument", "test", asker.instruments, equipment.instruments),
        ("part", "repair", asker.parts, equipment.parts),
    ):
        for name in dict.fromkeys(given or ()):
            if name not in known:
                near = nearest_name(name, known)
                hint = f" Did you mean “{near}”?" if near else ""
                yield f"No {use} of this machine uses the {kind} “{name}”.{hint}"


def _reading_notes(equipment: Equipment, given: Sequence[Given]) -> Iterator[str]:
    for g in given:
        observation = equipment.observations.get(g.about)
        if g.reading is not None and (observation is None or observation.reading is None):
            yield (
                f"The reading {g.reading.value:g} {g.reading.unit} of “{equipment.title_of(g.about)}” is recorded; it "
                "does not change this answer: the graph says of no reading there."
            )


def _age_notes(unit: UnitGiven) -> Iterator[str]:
    if unit.age_years is not None:
        yield f"The age of {unit.age_years:g} years is recorded; it does not change this answer yet."
