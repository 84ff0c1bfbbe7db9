"""The cheapest plan of a small problem, proved: depth-first branch and bound over beliefs.

The bound of a belief looks one job ahead: whatever comes first is paid by everybody, and afterwards nobody gets
off cheaper than with perfect information. It is linear in the belief where nothing is learnt and concave over
all, so it holds for tests with errors as for those without. A belief reached by other ways is looked up
(transpositions). See A. Martelli and U. Montanari, "Optimizing decision trees through heuristically guided
search", 1978.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from graph.hypotheses import Floats
from graph.policy.problem import NEGLIGIBLE, Problem
from graph.signals import Bools

SMALL_WORK = 30_000
"""Products of bounds that take as long as all else when a belief is opened up."""
SLACK = 1e-9
"""Money, relative: two plans that differ by less are the same."""


@dataclass(frozen=True, slots=True)
class Found:
    """A lower bound of the cheapest plan, money; whether it is the plan's very cost, and the plan's first job.

    `first` is a job's number, -1 for ending the visit.
    """

    least: float
    exact: bool
    first: int = -1


@dataclass(eq=False)
class Search:
    """One search of one problem; `effort` is how many small beliefs it may open up, large ones counting for more."""

    problem: Problem
    effort: float
    spent: float = 0.0
    seen: dict[bytes, Found] = field(default_factory=dict)

    def __post_init__(self) -> None:
        p = self.problem
        best = p.prices.min(axis=0)
        tests, repairs = best[: p.tests], best[p.tests:]
        helped = np.any(p.left != np.arange(len(p.weight)), axis=0)
        least = np.where(helped, p.least, p.ends)
        after = [least[left] for left in p.left]
        first = [p.ends, *after, *([least] if p.tests else [])]
        self.bounds: Floats = np.array(first).T
        self.entry: Floats = np.array([0.0, *repairs, *([tests.min()] if p.tests else [])])
        self.spans = [slice(a, b) for a, b in pairwise([*p.starts, len(p.owner)])]

    def run(self, closed: Collection[str] = ()) -> Found:
        """The cheapest plan from here without the `closed` jobs, or a lower bound where the effort does not suffice."""
        p = self.problem
        return self._solve(p.weight, np.array([n not in closed for n in p.jobs], dtype=bool), 0, np.inf)

    def _bound(self, masses: Floats) -> Floats:
        """The bound of each belief (rows of `masses`, n x H), money."""
        ahead = masses @ self.bounds + masses.sum(axis=1)[:, None] * self.entry
        return np.asarray(ahead.min(axis=1))

    def _solve(self, mass: Floats, usable: Bools, state: int, limit: float) -> Found:
        """The cheapest plan, or a bound of at least `limit` once it is known to be no cheaper."""
        total = float(mass.sum())
        if total <= 0:
            return Found(0.0, True)
        key = np.rint(mass / total * 1e10).astype(np.int64).tobytes() + usable.tobytes() + bytes((state,))
        known = self.seen.get(key)
        if known is not None and (known.exact or known.least * total >= limit):
            return Found(known.least * total, known.exact, known.first)
        bound = float(self._bound(mass[None, :])[0])
        stop = float(mass @ self.problem.ends)
        if stop <= bound * (1 + SLACK):
            return Found(stop, True)
        if bound >= limit or self.spent >= self.effort:
            return Found(bound, False)
        found = self._open(mass, total, usable, state, limit, Found(stop, True))
        self.seen[key] = Found(found.least / total, found.exact, found.first)
        return found

    def _open(self, mass: Floats, total: float, usable: Bools, state: int, limit: float, best: Found) -> Found:
        """Try every job, the most promising first; `best` is the best plan so far."""
        p = self.problem
        masses, parts = self._children(mass, usable)
        self.spent += 1 + masses.size * len(self.entry) / SMALL_WORK
        bounds = self._bound(masses)
        prices = p.prices[state] * total
        sums = {job: float(prices[job] + bounds[span].sum()) for job, span in parts.items()}
        floor = np.inf
        for job in sorted(sums, key=lambda j: (sums[j], j)):
            worst = min(best.least * (1 - SLACK), limit)
            least = sums[job]
            if least >= worst:
                floor = min(floor, least)
                break
            left_over = usable.copy()
            left_over[job] = False
            left_over[: p.tests] &= ~p.spoils[state, job]
            exact = True
            span = parts[job]
            for i in sorted(range(span.start, span.stop), key=lambda i: -float(bounds[i])):
                rest = worst - (least - float(bounds[i]))
                child = self._solve(masses[i], left_over, int(p.after[state, job]), rest)
                least += child.least - float(bounds[i])
                exact &= child.exact
                if least >= worst:
                    exact = False
                    break
            if exact:
                best = Found(least, True, job) if least < best.least else best
            else:
                floor = min(floor, least)
        if floor >= best.least * (1 - 2 * SLACK):
            return best
        return Found(min(floor, best.least), False, best.first)

    def _children(self, mass: Floats, usable: Bools) -> tuple[Floats, dict[int, slice]]:
        """The beliefs that every job may lead to, and which of them are whose; no repair that nothing calls for."""
        p = self.problem
        beliefs: list[Floats] = []
        parts: dict[int, slice] = {}
        rows, total = np.arange(len(mass)), float(mass.sum())
        for job in np.flatnonzero(usable).tolist():
            if job < p.tests:
                chances = p.chances[self.spans[job]]
                new = mass * chances
            else:
                left = p.left[job - p.tests]
                if mass[left != rows].sum() <= NEGLIGIBLE * total:
                    continue
                moved = np.bincount(left, mass, len(mass))
                clean = moved * p.runs
                new = np.array([clean, moved - clean])
            first = parts[next(reversed(parts))].stop if parts else 0
            parts[job] = slice(first, first + len(new))
            beliefs.append(new)
        return np.concatenate(beliefs) if beliefs else np.zeros((0, len(mass))), parts
