"""The next job as the best technician would choose it: exact where the decision is small, a rollout elsewhere.

Effort is counted, not timed, so that the same question has the same answer everywhere: a budget in milliseconds
stands for the beliefs that a plain two-core server follows in that time.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from graph.belief import Belief
from graph.hypotheses import Floats, Ints
from graph.policy.outlook import outlook
from graph.policy.problem import Problem, Size, problem_of
from graph.policy.ranking import RankedRemedy, Ranking
from graph.policy.rollout import Nodes, Rollout, root
from graph.policy.search import Search
from graph.policy.worktable import work_table

DEFAULT_BUDGET = 50.0
"""Milliseconds, nominal."""
SETTLED = 0.9
"""Chance that nothing is left wrong from which an unplanned visit is ended."""
OPENED = 16
"""Beliefs of a small problem that the exact search opens up in a millisecond."""
FOLLOWED = 2
"""Beliefs of one depth that a rollout follows for each millisecond."""
SMALL = 0.1
"""Chance, times milliseconds of the budget, below which a rollout does not follow a belief."""
EVEN = 0.01
"""Where only likely beliefs were followed, costs that differ by less than this share are even: the score decides."""
LEAST_FOLLOWED, COARSEST = 32, 0.005
"""No rollout follows fewer beliefs of one depth, or leaves out likelier ones."""
FIRST_TESTS, FIRST_REPAIRS = 8, 4
"""The best-scored jobs from which a rollout is run."""
END = "end"

Action = Literal["test", "remedy", "end"]


@dataclass(frozen=True, slots=True)
class Choice:
    """A first job (`name`; `end` for ending the visit) and the money it is expected to take to the end, if planned."""

    action: Action
    name: str
    cost: float | None


NOTHING_MORE = Choice("end", END, None)
"""Ending the visit, unpriced."""


@dataclass(frozen=True, slots=True)
class Decision:
    """What to do first.

    `choices` are the first jobs that were compared, the best first; there is always one. `least` is money below
    which no plan can come. `optimal` says that the first choice is proved to be the cheapest. `saved` is the
    money that each blocked test would save if nothing stood in its way. `rollout` is what priced the choices,
    following no belief of less mass than `small`; None where nothing was planned.
    """

    choices: tuple[Choice, ...]
    least: float
    optimal: bool
    saved: Mapping[str, float]
    rollout: Rollout | None = None
    small: float = 0.0

    @property
    def first(self) -> Choice:
        """What to do."""
        return self.choices[0]

    def cost_of(self, name: str) -> float | None:
        """The money to the end when starting with a job; None where it was not compared."""
        return next((c.cost for c in self.choices if c.name == name), None)


def decide(
    belief: Belief, ranking: Ranking, remedies: Sequence[RankedRemedy], budget: float = DEFAULT_BUDGET,
    blocked: Sequence[str] = (), compare: bool = True,
) -> Decision:
    """Choose the next job. `remedies` are the ranked repairs that the asker can make, `budget` is milliseconds.

    With no budget, and for a site contact, who does not repair, the best score decides and nothing is priced; then
    the visit ends once nothing seems to be left wrong.
    `blocked` are tests to price that something is missing for; `compare` asks for the runners-up of a proved plan.
    """
    if budget <= 0 or ranking.asker.role == "site_contact":
        first = NOTHING_MORE if belief.nothing_left >= SETTLED else _best_scored(ranking, remedies)
        return Decision((first,), _bound(belief, ranking), False, {})
    problem = problem_of(belief, ranking, Size(), blocked)
    proved: Choice | None = None
    if problem.complete:
        found = Search(problem, OPENED * budget).run(blocked)
        least = found.least
        if found.exact:
            proved = _choice(problem, found.first, found.least)
            if not compare:
                return Decision((proved,), least, True, {})
    else:
        least = _bound(belief, ranking)
    rollout, small = Rollout(problem, max(LEAST_FOLLOWED, int(FOLLOWED * budget))), min(COARSEST, SMALL / budget)
    looks = [n for r in remedies[:1] for n in r.look_first]
    choices, saved = _rolled_out(rollout, small, looks, blocked)
    if proved is not None:
        others = [replace(c, cost=max(c.cost or 0.0, least)) for c in choices if c.name != proved.name]
        return Decision((proved, *others), least, True, saved, rollout, small)
    return Decision(choices, min(least, choices[0].cost or 0.0), False, saved, rollout, small)


def _best_scored(ranking: Ranking, remedies: Sequence[RankedRemedy]) -> Choice:
    tests = ranking.open(1)
    if remedies and (not tests or remedies[0].score > ranking.score(tests[0])):
        looks = remedies[0].look_first
        return Choice("test", looks[0], None) if looks else Choice("remedy", remedies[0].remedy.id, None)
    return Choice("test", tests[0], None) if tests else NOTHING_MORE


def _bound(belief: Belief, ranking: Ranking) -> float:
    """The bound of `Search` on the whole belief, money."""
    table = work_table(belief.model, ranking.asker, ranking.economics)
    prospect = outlook(belief.model, ranking.asker, ranking.economics)
    known = float(belief.rows @ prospect.least)
    return min(
        float(belief.rows @ prospect.ends), known + table.least_test,
        known + float((table.least_repairs - prospect.eases @ belief.rows).min(initial=np.inf)),
    )


def _choice(problem: Problem, job: int, cost: float) -> Choice:
    if job < 0:
        return Choice("end", END, cost)
    return Choice("test" if job < problem.tests else "remedy", problem.jobs[job], cost)


def _rolled_out(
    rollout: Rollout, small: float, looks: Sequence[str], blocked: Sequence[str]
) -> tuple[tuple[Choice, ...], dict[str, float]]:
    """The best-scored first jobs and ending the visit, each followed to the end by the base policy.

    With them the money that each blocked test would save. `looks` are compared whatever they score.
    """
    problem = rollout.problem
    here = root(problem, blocked)
    scores = rollout.scores(here)[0] if problem.jobs else np.zeros(0)
    place = {name: i for i, name in enumerate(problem.jobs)}
    jobs = list(dict.fromkeys([
        *_first_jobs(problem, scores), *(place[n] for n in (*looks, *blocked) if n in place),
    ]))
    costs = {-1: float(problem.weight @ problem.ends)}
    if jobs:
        costs.update(zip(jobs, costs_from(rollout, here, np.array(jobs, dtype=np.int64), small).tolist(), strict=True))
    offered = sorted((n for n in costs if n < 0 or problem.jobs[n] not in blocked), key=lambda n: (costs[n], n))
    best = costs[offered[0]]
    if not problem.complete:
        even = [n for n in offered if costs[n] <= best * (1 + EVEN)]
        first = max(even, key=lambda n: (scores[n] if n >= 0 else 0.0, -n))
        offered = [first, *(n for n in offered if n != first)]
    scale = float(problem.weight.sum()) or 1.0
    return (
        tuple(_choice(problem, n, costs[n] / scale) for n in offered),
        {n: max(0.0, best - costs[place[n]]) / scale for n in blocked if n in place},
    )


def costs_from(rollout: Rollout, here: Nodes, jobs: Ints, small: float) -> Floats:
    """The money from one node when it starts with each of the jobs and goes on by the base policy."""
    steps = rollout.step(here[np.zeros(len(jobs), dtype=np.int64)], jobs)
    return np.asarray(steps.cost + np.bincount(steps.parent, rollout.values(steps.children, small), len(jobs)))


def _first_jobs(problem: Problem, scores: Floats) -> list[int]:
    order = np.argsort(-scores, kind="stable")
    order = order[scores[order] > 0]
    tests, repairs = order[order < problem.tests], order[order >= problem.tests]
    return [*tests[:FIRST_TESTS].tolist(), *repairs[:FIRST_REPAIRS].tolist()]
