"""How far the leading rates could be wrong before another job would come first.

A failure mode that were `factor` times as common has its posterior odds multiplied by that factor. The first
jobs are compared again for factors up to 8 and down to 1/8; between the last factor that changes nothing and
the first that does, the crossing is interpolated on the factor's logarithm. Costs that count as even change nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from graph.belief import Belief
from graph.hypotheses import Floats, sums_by
from graph.policy.decision import END, EVEN, Decision
from graph.policy.problem import Problem
from graph.policy.rollout import Nodes, Rollout

FACTORS = (2.0, 4.0, 8.0)
"""How many times too high or too low a rate is taken to be."""
MOST_MODES = 3
MOST_JOBS = 5


@dataclass(frozen=True, slots=True)
class Margin:
    """With a rate `factor` times as high, `job` (`end`: ending the visit) would come first; None: up to 8 times
    and an eighth nothing changes.
    """

    mode: str
    factor: float | None
    job: str | None


def rate_margins(belief: Belief, decision: Decision) -> tuple[Margin, ...]:
    """The margin of each of the likeliest modes; nothing where the decision was not planned."""
    if decision.rollout is None:
        return ()
    model, problem = belief.model, decision.rollout.problem
    chances = belief.chances_of("modes")
    modes = [m for m in np.argsort(-chances, kind="stable")[:MOST_MODES].tolist() if chances[m] > 0]
    names = [c.name for c in decision.choices if c.name == END or c.name in problem.jobs][:MOST_JOBS]
    if not modes or len(names) < 2:
        return tuple(Margin(model.hypotheses.modes[m], None, None) for m in modes)
    factors = [1.0, *(f for x in FACTORS for f in (x, 1 / x))]
    weights = []
    for mode in modes:
        has = (model.hypotheses.members[problem.kept] == mode).any(axis=1)
        for factor in factors:
            mass = sums_by(problem.group, belief.rows[problem.kept] * np.where(has, factor, 1.0), len(problem.weight))
            weights.append(mass / mass.sum())
    costs = _costs(problem, np.array(weights), names, decision.rollout, decision.small)
    if not problem.complete:
        costs[:, 0] /= 1 + EVEN
    margins = []
    for place, mode in enumerate(modes):
        block = costs[place * len(factors): (place + 1) * len(factors)]
        up, down = range(1, len(factors), 2), range(2, len(factors), 2)
        crossings = [c for s in (up, down) if (c := _crossing(block, names, factors, [0, *s])) is not None]
        nearest = min(crossings, key=lambda c: abs(np.log(c[0])), default=None)
        margins.append(Margin(model.hypotheses.modes[mode], *((None, None) if nearest is None else nearest)))
    return tuple(margins)


def _costs(problem: Problem, weights: Floats, names: Sequence[str], followed: Rollout, small: float) -> Floats:
    """Money for each belief (rows) and first job (columns)."""
    rollout = Rollout(problem, followed.width * len(weights))
    costs = np.empty((len(weights), len(names)))
    jobs = [problem.jobs.index(n) for n in names if n != END]
    ending = [i for i, n in enumerate(names) if n == END]
    costs[:, ending] = (weights @ problem.ends)[:, None]
    usable = np.ones((len(weights) * len(jobs), len(problem.jobs)), dtype=bool)
    here = Nodes(np.repeat(weights, len(jobs), axis=0), usable, np.zeros(len(usable), dtype=np.int64))
    steps = rollout.step(here, np.tile(np.array(jobs, dtype=np.int64), len(weights)))
    values = steps.cost + np.bincount(steps.parent, rollout.values(steps.children, small), len(usable))
    costs[:, [i for i, n in enumerate(names) if n != END]] = values.reshape(len(weights), len(jobs))
    return costs


def _crossing(
    costs: Floats, names: Sequence[str], factors: Sequence[float], side: Sequence[int]
) -> tuple[float, str] | None:
    """Where along one side the first job stops being the cheapest, and which job takes its place."""
    for near, far in pairwise(side):
        other = int(costs[far].argmin())
        if costs[far, other] < costs[far, 0]:
            before, after = costs[near, other] - costs[near, 0], costs[far, 0] - costs[far, other]
            share = max(before, 0.0) / (max(before, 0.0) + after)
            return float(np.exp((1 - share) * np.log(factors[near]) + share * np.log(factors[far]))), names[other]
    return None
