"""What to do next, in words: tests, repairs, and the one step to take now."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

from graph.answers import BlockedTest, ConflictReport, NextRemedy, NextStep, NextTest, Series
from graph.belief import Belief
from graph.equipment import Equipment
from graph.explain import outcome_effects, percent
from graph.hypotheses import Floats
from graph.policy.decision import SETTLED, Decision
from graph.policy.lockout import switching_steps
from graph.policy.ranking import RankedRemedy, RankedTest
from graph.readings.sentences import asked_text

MOSTLY = 0.5
"""Chance that nothing is left wrong from which ending the visit is closing the job."""
LOST = 0.5
"""Chance of an unlisted cause from which a person who knows more should be asked."""


def next_tests_of(
    belief: Belief, choices: Sequence[RankedTest], outcomes: Floats, series: Mapping[str, Series]
) -> tuple[NextTest, ...]:
    """Ranked tests with what each outcome would change; `outcomes` as `gain.Gains` has them."""
    equipment = belief.model.equipment
    effects = outcome_effects(belief, choices, outcomes)
    answers = []
    for choice, effect in zip(choices, effects, strict=True):
        o = choice.observation
        asked = o.kind == "symptom" and o.how
        lead = f"Ask: “{o.how[0]}”" if asked else f"Ask: “{o.title}?”" if o.kind == "symptom" else f"Check: “{o.title}”"
        advised = series.get(o.id)
        again = f" Do it {o.repeats} times; one miss counts." if o.repeats > 1 else ""
        again = f" {advised.sentence}" if advised is not None and advised.times > 1 else again
        answers.append(NextTest(
            o.id, o.kind, o.title, o.how, o.role, o.licence, o.instruments, o.hazards, dict(o.needs), o.repeats,
            choice.minutes, choice.price, choice.gain, choice.gain_hypotheses, choice.score, choice.look_first, advised,
            effect,
            None if o.reading is None else asked_text(o.reading),
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


def blocked_tests(
    equipment: Equipment, choices: Sequence[RankedTest], saved: Mapping[str, float], per_minute: float
) -> tuple[BlockedTest, ...]:
    """Tests worth making that something is missing for; `saved` is money where it was planned."""
    answers = []
    for c in choices:
        o, money = c.observation, saved.get(c.observation.id)
        minutes = None if money is None else money / per_minute
        worth = f"would be worth {c.gain:.2f} bits"
        if minutes is not None and minutes >= 1:
            worth = f"would save {minutes:.0f} min ({money:.2f} {equipment.currency})"
        answers.append(BlockedTest(
            o.id, o.title, c.gain, c.missing, money, minutes,
            f"“{o.title}” {worth}, but needs: {', '.join(c.missing)}.",
        ))
    return tuple(answers)


def _look_again(belief: Belief, report: ConflictReport | None) -> str | None:
    """The clashing finding to look at again: the first whose withdrawal helps and that was made only once."""
    if report is None:
        return None
    once = {c.about for c in belief.evidence if c.times == 1} & set(belief.model.equipment.observations)
    return next((name for group in report.withdraw for name in group if name in once), None)


def next_step_of(
    belief: Belief, report: ConflictReport | None, decision: Decision, tests: Sequence[NextTest],
    remedies: Sequence[NextRemedy], unit: Mapping[str, str], fetches: Sequence[str],
) -> NextStep:
    """The one thing to do: close, look again where findings clash, what was decided, or support.

    `unit` is the state of the unit now; `fetches` are the repairs whose parts are not at hand.
    """
    equipment = belief.model.equipment
    first = decision.first
    if first.action == "end" and belief.nothing_left >= MOSTLY:
        return _close(belief)
    again = _look_again(belief, report)
    if again is not None:
        kind: Literal["ask", "test"] = "ask" if again in equipment.symptoms else "test"
        title = equipment.title_of(again)
        return NextStep(kind, again, title, (), f"The findings clash: look again at “{title}”.")
    if first.action == "end" or (first.cost is None and belief.unlisted >= LOST):
        return _support(belief, first.cost)
    if first.action == "remedy":
        repair = next(r for r in remedies if r.remedy == first.name)
        job = equipment.remedies[first.name]
        lacking = repair.remedy in fetches
        sentence = f"Come back with the parts. {repair.sentence}" if lacking else repair.sentence
        return NextStep(
            "return" if lacking else "repair", first.name, repair.title,
            switching_steps(equipment, unit, dict(job.needs)), sentence,
        )
    test = next(t for t in tests if t.test == first.name)
    return NextStep(
        "ask" if test.kind == "symptom" else "test", test.test, test.title,
        switching_steps(equipment, unit, test.needs), test.sentence,
    )


def _close(belief: Belief) -> NextStep:
    chance = percent(belief.nothing_left)
    if belief.nothing_left >= SETTLED:
        return NextStep("close", None, "Close the job", (), f"Nothing is left wrong ({chance}): close the job.")
    return NextStep(
        "close", None, "Close the job, with a warning", (),
        f"Nothing more is worth its cost. Nothing is left wrong with a chance of {chance}: close the job, and say that "
        "it may come back.",
    )


def _support(belief: Belief, cost: float | None) -> NextStep:
    why = "nothing at hand tells more" if cost is None else "nothing at hand is worth its cost"
    return NextStep(
        "support", None, "Call for support", (),
        f"Call for support: the cause is not in this graph with a chance of {percent(belief.unlisted)}, and {why}.",
    )
