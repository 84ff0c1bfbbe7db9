"""How often to repeat a test for a fault that shows only now and then.

Every clean trial leaves (1 - p) of the chance of a fault that shows with chance p. More trials cost minutes,
fewer leave doubt that costs more later: the number is the one whose expected money to the end is least.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from graph.belief import Belief
from graph.columns import repeated
from graph.hypotheses import Floats
from graph.policy.problem import Problem
from graph.policy.ranking import Ranking
from graph.policy.rollout import Nodes, Rollout

TRIALS = (1, 2, 3, 5, 8, 10, 12, 15, 20, 30)
"""The lengths of a series that are compared."""
WORTH_REPEATING = 0.02
"""Chance of a fault that comes and goes from which repeats are thought about."""


@dataclass(frozen=True, slots=True)
class Series:
    """The best number of trials, its minutes and expected money, and the chance of a fault that comes and goes
    before and after a series without a miss.
    """

    times: int
    minutes: float
    cost: float
    before: float
    after: float


def best_series(
    belief: Belief, ranking: Ranking, rollout: Rollout, name: str, small: float
) -> Series | None:
    """The best series of an observation of the problem; None where no fault that comes and goes is in question."""
    model, problem = belief.model, rollout.problem
    watch = model.watches[model.by_id[name]]
    column, observation = model.columns[watch.column], watch.observation
    varied = np.zeros(column.count, dtype=bool)
    varied[: len(column.mix)] = ~(column.mix == 1).any(axis=1)
    pattern = model.patterns[watch.column]
    before = float(belief.rows[varied[pattern]].sum())
    if before < WORTH_REPEATING:
        return None
    job = problem.jobs.index(name)
    example = np.empty(len(problem.weight), dtype=np.int64)
    example[problem.group] = pattern[problem.kept]
    trial = observation.minutes / observation.repeats
    setup = ranking.work.minutes[name] - observation.minutes
    at_rest = np.array(observation.chances).argmax(axis=1)[column.rest[varied[: len(column.mix)]]]
    clean = int(np.bincount(at_rest).argmax())
    found = []
    for times in TRIALS:
        chances = problem.chances[problem.owner == job].copy()
        table = repeated(column.mix, column.rest, times) @ np.array(observation.chances)
        known = example < len(table)
        chances[: table.shape[1], known] = table[example[known]].T
        minutes = setup + trial * times
        price = ranking.economics.labour(minutes) + observation.materials
        after = problem.weight * chances[clean]
        doubt = float((after * varied[example]).sum() / max(after.sum(), 1e-300))
        found.append((times, minutes, price, _branches(problem, job, chances), doubt))
    children = [nodes for *_, nodes, _ in found]
    every = Nodes(*(np.concatenate([getattr(n, part) for n in children]) for part in ("mass", "open", "state")))
    values: Floats = rollout.values(every, small).reshape(len(TRIALS), -1).sum(axis=1)
    total = float(problem.weight.sum())
    return min(
        (Series(times, minutes, price + float(value) / total, before, doubt)
         for (times, minutes, price, _, doubt), value in zip(found, values, strict=True)),
        key=lambda s: (s.cost, s.times),
    )


def _branches(problem: Problem, job: int, chances: Floats) -> Nodes:
    """The beliefs after the outcomes of a job that is a test, from the problem's own state of the unit."""
    usable = np.ones(len(problem.jobs), dtype=bool)
    usable[job] = False
    usable[: problem.tests] &= ~problem.spoils[0, job]
    count = len(chances)
    return Nodes(
        problem.weight * chances, np.tile(usable, (count, 1)),
        np.full(count, problem.after[0, job], dtype=np.int64),
    )
