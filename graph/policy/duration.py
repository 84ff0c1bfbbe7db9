"""How long a visit will take: the base policy followed to its end, with the minutes of every course of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from graph.belief import Belief
from graph.context import Economics
from graph.hypotheses import Floats, Ints
from graph.policy.problem import Problem, Size, problem_of
from graph.policy.ranking import Ranking, goods_price
from graph.policy.rollout import Rollout, root

WIDTH = 64
"""Beliefs of one depth that are followed on."""
SMALL = 1e-3
"""Chance below which a course of the visit is not followed on."""
DEEPEST = 60
FEW = Size(rows=48, mass=0.99, tests=16, remedies=12)
"""What of the model is followed: minutes need no proof."""


@dataclass(frozen=True, slots=True)
class Duration:
    """Courses of a visit: their chances and minutes, ascending minutes."""

    chance: Floats
    minutes: Floats

    def within(self, share: float) -> float:
        """The minutes that a visit does not exceed with this chance."""
        reached = np.cumsum(self.chance) / self.chance.sum()
        return float(self.minutes[min(int(np.searchsorted(reached, share - 1e-9)), len(self.minutes) - 1)])

    @property
    def mean(self) -> float:
        """Mean minutes."""
        return float(self.chance @ self.minutes / self.chance.sum())


def duration_of(belief: Belief, ranking: Ranking) -> Duration:
    """The courses of the visit that a belief begins, for the ranking's asker."""
    problem = problem_of(belief, ranking, FEW)
    rollout = Rollout(problem, WIDTH)
    minutes = _minutes(belief, problem, ranking.economics)
    nodes, spent = root(problem), np.zeros(1)
    chance, taken = [np.zeros(0)], [np.zeros(0)]
    for _ in range(DEEPEST):
        if not len(nodes):
            break
        total = nodes.mass.sum(axis=1)
        going = np.flatnonzero((total > SMALL) & (rollout.tail(nodes) < nodes.mass @ problem.ends - 1e-9))
        going = going[np.argsort(-total[going], kind="stable")[:WIDTH]]
        jobs, useful = rollout.choices(nodes[going])
        going, jobs = going[useful], jobs[useful]
        stays = np.setdiff1d(np.arange(len(nodes)), going)
        chance.append(total[stays])
        taken.append(spent[stays])
        if not len(going):
            break
        after = spent[going] + minutes[nodes.state[going], jobs]
        steps = rollout.step(nodes[going], jobs)
        nodes, spent = steps.children, after[steps.parent]
    ends, times = np.concatenate(chance), np.concatenate(taken)
    order: Ints = np.argsort(times, kind="stable")
    return Duration(ends[order], times[order])


def _minutes(belief: Belief, problem: Problem, economics: Economics) -> Floats:
    """The minutes of every job from every state of the unit (U x A), from its price."""
    equipment = belief.model.equipment
    goods = np.array([
        goods_price(equipment, equipment.observations[n] if n in equipment.observations else equipment.remedies[n])
        for n in problem.jobs
    ])
    return np.asarray((problem.prices - goods) / economics.labour(1))
