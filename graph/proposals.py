"""What to do next, in words: tests, repairs, and the one step to take now."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from graph.answers import BlockedTest, ConflictReport, NextRemedy, NextStep, NextTest
from graph.belief import Belief
from graph.equipment import Equipment
from graph.explain import outcome_effects, percent
from graph.hypotheses import Floats
from graph.policy import RankedRemedy, RankedTest

SETTLED = 0.9
"""Chance that nothing is left wrong from which the job can be closed."""
LOST = 0.5
"""Chance of an unlisted cause from which a person who knows more should be asked."""


def next_tests_of(belief: Belief, choices: Sequence[RankedTest], outcomes: Floats) -> tuple[NextTest, ...]:
    """Ranked tests with what each outcome would change; `outcomes` as `gain.Gains` has them."""
    equipment = belief.model.equipment
    effects = outcome_effects(belief, choices, outcomes)
    answers = []
    for choice, effect in zip(choices, effects, strict=True):
        o = choice.observation
        asked = o.kind == "symptom" and o.how
        lead = f"Ask: “{o.how[0]}”" if asked else f"Ask: “{o.title}?”" if o.kind == "symptom" else f"Check: “{o.title}”"
        again = f" Do it {o.repeats} times; one miss counts." if o.repeats > 1 else ""
        answers.append(NextTest(
            o.id, o.kind, o.title, o.how, o.role, o.licence, o.instruments, o.hazards, dict(o.needs), o.repeats,
            choice.minutes, choice.price, choice.gain, choice.gain_hypotheses, choice.score, choice.look_first, effect,
            f"{lead}, about {choice.minutes:g} min ({choice.price:.2f} {equipment.currency}), "
            f"worth {choice.gain:.2f} bits.{again}{_wait(equipment, choice.look_first)}",
        ))
    return tuple(answers)


def _wait(equipment: Equipment, look_first: Sequence[str]) -> str:
    if not look_first:
        return ""
    looks = ", ".join(f"“{equipment.title_of(name)}”" for name in look_first)
    return f" It destroys evidence; first: {looks}."


def next_remedies_of(equipment: Equipment, choices: Sequence[RankedRemedy]) -> tuple[NextRemedy, ...]:
    """Ranked repairs, in words."""
    answers = []
    for choice in choices:
        r = choice.remedy
        parts = " with parts" if r.parts else ""
        answers.append(NextRemedy(
            r.id, r.title, r.how, choice.chance, choice.minutes, choice.price, choice.score, r.role, r.licence,
            r.hazards, dict(r.parts), r.verify, choice.look_first,
            f"Repair: “{r.title}” puts it right with a chance of {percent(choice.chance)}; about "
            f"{choice.minutes:g} min, {choice.price:.2f} {equipment.currency}{parts}."
            f"{_wait(equipment, choice.look_first)}",
        ))
    return tuple(answers)


def blocked_tests(choices: Sequence[RankedTest]) -> tuple[BlockedTest, ...]:
    """Tests worth making that something is missing for."""
    return tuple(
        BlockedTest(
            c.observation.id, c.observation.title, c.gain, c.missing,
            f"“{c.observation.title}” would be worth {c.gain:.2f} bits, but needs: {', '.join(c.missing)}.",
        )
        for c in choices
    )


def _look_again(belief: Belief, report: ConflictReport | None) -> str | None:
    """The clashing finding to look at again: the first whose withdrawal helps and that was made only once."""
    if report is None:
        return None
    once = {c.about for c in belief.evidence if c.times == 1} & set(belief.model.equipment.observations)
    return next((name for group in report.withdraw for name in group if name in once), None)


def next_step_of(
    belief: Belief, report: ConflictReport | None, tests: Sequence[NextTest], remedies: Sequence[NextRemedy]
) -> NextStep:
    """The one thing to do: close, look again where findings clash, the best test or repair, or support.

    A repair that would destroy evidence waits for its first look, which is the first of `tests`.
    """
    title_of = belief.model.equipment.title_of
    if belief.nothing_left >= SETTLED:
        chance = percent(belief.nothing_left)
        return NextStep("close", None, "Close the job", f"Nothing is left wrong ({chance}): close the job.")
    again = _look_again(belief, report)
    if again is not None:
        kind: Literal["ask", "test"] = "ask" if again in belief.model.equipment.symptoms else "test"
        return NextStep(kind, again, title_of(again), f"The findings clash: look again at “{title_of(again)}”.")
    repair = remedies[0] if remedies else None
    if belief.unlisted >= LOST or (not tests and repair is None):
        return NextStep(
            "support", None, "Call for support",
            f"Call for support: the cause is not in this graph with a chance of {percent(belief.unlisted)}, "
            "and nothing at hand tells more.",
        )
    if repair is not None and not repair.look_first and (not tests or repair.score > tests[0].gain_per_price):
        return NextStep("repair", repair.remedy, repair.title, repair.sentence)
    test = tests[0]
    return NextStep("ask" if test.kind == "symptom" else "test", test.test, test.title, test.sentence)
