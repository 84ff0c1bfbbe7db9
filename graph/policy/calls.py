"""Simulated calls: what was wrong, what the caller said first, and how every test would come out.

Policies are compared on the same draws: each observation and each trial run of a call has one random number
of its own, so two policies that make the same test on the same machine read the same outcome.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from graph.belief import Belief, believe, prior_of
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.evidence import RUNS, STILL_FAULTY, Finding, clean_runs
from graph.hypotheses import Floats
from graph.policy.decision import NOTHING_MORE, Choice
from graph.policy.outlook import outlook
from graph.policy.ranking import Ranking, goods_price, rank_tests
from graph.policy.worktable import situation

MOST_JOBS = 60
"""Jobs after which a simulated visit is ended."""


@dataclass(frozen=True, slots=True, eq=False)
class Call:
    """One simulated call: the true row, the caller's first words, a random number for each job of the model."""

    row: int
    said: tuple[Finding, ...]
    luck: Floats


@dataclass(frozen=True, slots=True)
class Visit:
    """How one policy did on one call.

    `money` with the return trip if there was one, `minutes` on site; `tests`, `wrong_parts` (put in and not
    needed), whether the first visit fixed it, and what was done.
    """

    money: float
    minutes: float
    tests: int
    wrong_parts: int
    fixed: bool
    jobs: tuple[str, ...]


Policy = Callable[[Belief, Ranking], Choice]


class Remembered:
    """A policy that thinks once of what it has met before: the same findings, unit state and open tests."""

    def __init__(self, policy: Policy) -> None:
        self.policy = policy
        self.met: dict[object, Choice] = {}

    def __call__(self, belief: Belief, ranking: Ranking) -> Choice:
        """The policy's choice."""
        found = tuple((e.about, e.said) for e in belief.evidence)
        key = (found, belief.done, ranking.asker.unit_state, ranking.unmade.tobytes())
        if key not in self.met:
            self.met[key] = self.policy(belief, ranking)
        return self.met[key]


def draw_calls(model: CompiledModel, count: int, seed: int, unlisted: bool = False) -> list[Call]:
    """Calls as the graph says they come in: a cause by its rate, then one symptom that the caller has.

    The unlisted cause is drawn only if asked for: the graph does not say what it does, only what is expected of it.
    """
    dice = np.random.default_rng(seed)
    rows = model.hypotheses.prior.sum(axis=1)
    if not unlisted:
        rows = rows * ~model.hypotheses.unlisted
    jobs = len(model.watches) + len(model.equipment.remedies)
    calls = []
    for row in dice.choice(len(rows), size=count, p=rows / rows.sum()).tolist():
        luck = dice.random(jobs)
        calls.append(Call(row, _first_words(model, row, luck, dice), luck))
    return calls


def _first_words(model: CompiledModel, row: int, luck: Floats, dice: np.random.Generator) -> tuple[Finding, ...]:
    """One of the symptoms that a caller would name for this row."""
    present = [
        name for name in model.equipment.symptoms
        if outcome(model, name, row, float(luck[model.by_id[name]])) == "present"
    ]
    return (Finding(str(dice.choice(present)), (("present", 1),)),) if present else ()


def outcome(model: CompiledModel, name: str, row: int, luck: float) -> str | None:
    """What an observation shows on a machine in this row; None where it can't be made."""
    watch = model.watches[model.by_id[name]]
    if watch.climate is not None:
        return None
    chances = watch.chances[model.patterns[watch.column][row]]
    if model.hypotheses.unlisted[row] and model.columns[watch.column].unlisted is not None:
        chances = prior_of(model).predicted[watch.first: watch.first + len(chances)]
    place = int(np.searchsorted(np.cumsum(chances), luck, side="right"))
    return list(watch.outcomes)[place] if place < len(chances) and chances.sum() > 0.5 else None


def play(model: CompiledModel, call: Call, policy: Policy, asker: Asker, economics: Economics) -> Visit:
    """One visit by one policy."""
    equipment = model.equipment
    first = outlook(model, asker, economics)
    findings, passed, row = list(call.said), set[str](), call.row
    money = minutes = 0.0
    tests = wrong = 0
    done: list[str] = []
    while True:
        belief = believe(model, findings)
        now, lost = situation(model, findings, asker)
        ranking = rank_tests(belief, now, economics, passed | lost)
        choice = policy(belief, ranking) if len(done) < MOST_JOBS else NOTHING_MORE
        if choice.action == "end":
            return Visit(money + float(first.ends[row]), minutes, tests, wrong, bool(first.ends[row] == 0), tuple(done))
        done.append(choice.name)
        spent = ranking.work.minutes[choice.name]
        minutes += spent
        money += economics.labour(spent)
        if choice.action == "test":
            tests += 1
            money += equipment.observations[choice.name].materials
            said = outcome(model, choice.name, row, float(call.luck[model.by_id[choice.name]]))
            if said is None:
                passed.add(choice.name)
            else:
                findings.append(Finding(choice.name, ((said, 1),)))
            continue
        remedy = equipment.remedies[choice.name]
        number = list(equipment.remedies).index(remedy.id)
        money += goods_price(equipment, remedy)
        left = int(first.left[number][row])
        wrong += sum(n for _, n in remedy.parts) if left == row else 0
        row = left
        runs = call.luck[len(model.watches) + number] < clean_runs(model)[row]
        findings.append(Finding(remedy.id, ((RUNS if runs else STILL_FAULTY, 1),)))


