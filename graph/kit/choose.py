"""The best kit, exactly: a mixed-integer program (HiGHS through `scipy.optimize.milp`).

For one case without limits the program is a closure problem, whose linear relaxation is integral where no repair
has a choice of parts (J. Mamer and S. Smith, "Optimizing field repair kits based on job completion rate",
Management Science 28, 1982). Parts that can't pay for being carried are left out before it is solved.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf, isfinite

import numpy as np

from graph.kit.problem import IndexedNeed, IndexedWay, KitProblem
from graph.kit.stock import KitInfeasible

SCALE = 1e4
"""The solver stops within 1e-6 of the optimum of what it is given: money and chances are given times this."""
SAME = 1e-9
"""Differences below this share are rounding."""
SECONDS = 20.0
"""Longest search; what is open then is said as the gap."""


@dataclass(frozen=True, slots=True)
class Choice:
    """What to load: `loaded[i]` pieces of each item (those aboard not counted).

    `finished` is the expected number of jobs finished, `cost` the money of carrying and of return trips for what is
    not finished, `gap` how much better, relative to the aim, an unproved kit might be (0: proved best).
    """

    loaded: tuple[int, ...]
    finished: float
    cost: float
    gap: float


def choose(problem: KitProblem, presolve: bool = True) -> Choice:
    """The best kit for the aim of the problem's terms, without a piece that changes nothing.

    Without `presolve` the best chance of one small case is found in half the time; of kits that are equally good
    another may then be chosen. Raises KitInfeasible where what must be brought does not fit.
    """
    _feasible(problem)
    program = _Program(problem)
    loaded, bound = program.solved(presolve)
    loaded = _needed(problem, loaded)
    finished = program.finished
    cost = problem.carrying(loaded) + problem.terms.trip * (problem.jobs - finished)
    reached, better = (cost, cost - bound) if problem.terms.aim == "money" else (finished, bound - finished)
    return Choice(loaded, finished, cost, better / max(reached, SAME) if better > SAME * max(reached, 1.0) else 0.0)


def _needed(problem: KitProblem, loaded: tuple[int, ...]) -> tuple[int, ...]:
    """Without pieces that finish nothing, the dearest first: where only the chance counts they could slip in."""
    if problem.terms.aim == "money" or any(len(needs) > 1 for _, needs in problem.shares):
        return loaded
    must = dict(problem.terms.must)
    kept, (chance,) = list(loaded), problem.chances([loaded])
    for i in sorted(np.flatnonzero(loaded), key=lambda i: (-problem.items[i].price, problem.items[i].key)):
        while kept[i] and kept[i] + problem.aboard[i] > must.get(problem.items[i].key, 0):
            kept[i] -= 1
            if problem.chances([kept])[0] < chance - SAME:
                kept[i] += 1
                break
    return tuple(kept)


def _feasible(problem: KitProblem) -> None:
    """Raise KitInfeasible where what must be brought can't be had or doesn't fit."""
    terms = problem.terms
    place = {item.key: i for i, item in enumerate(problem.items)}
    must = [0] * len(problem.items)
    for key, pieces in terms.must:
        i = place[key]
        must[i] = max(0, pieces - problem.aboard[i])
        if must[i] > problem.most[i]:
            there = problem.most[i] + problem.aboard[i]
            raise KitInfeasible(
                f"{pieces} x {problem.items[i].title} must be brought, and {there:g} can be had",
                pointer=f"/must_bring/{key}", expected=f"at most {there:g}",
            )
    for room, most in terms.limits:
        need = problem.used(room, must)
        if need > most:
            raise KitInfeasible(
                f"what must be brought takes {need:g} of the {room.replace('_', ' ')}, and {most:g} is the limit",
                pointer=f"/limits/{room}", expected=f"{need:g} or more",
            )


class _Program:
    """Variables and rows. Pieces of each item come first, then whether an item is picked at all."""

    def __init__(self, problem: KitProblem) -> None:
        self.problem, self.aim = problem, problem.terms.aim
        self.trip = problem.terms.trip if self.aim == "money" else 1.0
        self.cost: list[float] = []
        self.upper: list[float] = []
        self.whole: list[bool] = []
        self.entries: tuple[list[int], list[int], list[float]] = ([], [], [])
        self.low: list[float] = []
        self.high: list[float] = []
        self.jobs: list[tuple[float, int]] = []
        self.always = 0.0
        self.finished = 0.0
        shares = self._relevant()
        self.pieces = self._items(shares)
        alone: dict[tuple[IndexedWay, ...], float] = {}
        for chance, needs in shares:
            if len(needs) > 1:
                self._together(chance, needs)
            elif (ways := self._open_ways(needs[0])) is None:
                self.always += chance
            elif ways:
                alone[ways] = alone.get(ways, 0.0) + chance
        for ways, chance in alone.items():
            self._alone(chance, ways)
        for room, most in problem.terms.limits:
            self._row([(v, item.takes(room) or 0.0) for v, item in zip(self.pieces, problem.items, strict=True)
                       if v >= 0], -inf, most)

    def solved(self, presolve: bool) -> tuple[tuple[int, ...], float]:
        """Pieces of each item, and the bound: money below, or jobs above, which no kit comes."""
        from scipy.optimize import Bounds, LinearConstraint, milp  # slow to import, and not every service packs
        from scipy.sparse import csr_array

        count = len(self.cost)
        rest = self.trip * self.problem.jobs
        if not count:
            self.finished = self.always
            bound = rest - self.trip * self.always if self.aim == "money" else self.always
            return (0,) * len(self.pieces), bound
        rows = csr_array((self.entries[2], (self.entries[0], self.entries[1])), shape=(len(self.low), count))
        constraints = [LinearConstraint(rows, self.low, self.high)] if self.low else []
        found = milp(
            np.array(self.cost) * SCALE, integrality=np.array(self.whole), bounds=Bounds(self.lower, self.upper),
            constraints=constraints, options={"mip_rel_gap": 0.0, "time_limit": SECONDS, "presolve": presolve},
        )
        if found.x is None:
            raise KitInfeasible(f"no kit was found: {found.message}", pointer="/limits", expected="wider limits")
        loaded = tuple(round(found.x[v]) if v >= 0 else 0 for v in self.pieces)
        self.finished = self.always + sum(chance for chance, v in self.jobs if found.x[v] > 0.5)
        bound = found.fun if found.mip_dual_bound is None else found.mip_dual_bound
        if self.aim == "money":
            return loaded, bound / SCALE + rest - self.trip * self.always
        return loaded, self.always - bound / SCALE

    def _relevant(self) -> list[tuple[float, tuple[IndexedNeed, ...]]]:
        """The shares without the items that can't be had or, where money decides, can't pay for being carried."""
        problem = self.problem
        must = {key for key, _ in problem.terms.must}
        gone = {i for i, most in enumerate(problem.most) if most <= 0 and not problem.aboard[i]}
        shares = [(chance, tuple(self._possible(n, gone) for n in needs)) for chance, needs in problem.shares]
        while self.aim == "money":
            worth = [0.0] * len(problem.items)
            for chance, needs in shares:
                for i in {i for need in needs for way in need for serves, _ in way for i in serves}:
                    worth[i] += chance * len(needs) * self.trip
            poor = {
                i for i, item in enumerate(problem.items)
                if 0 < worth[i] <= problem.terms.carrying(item, 1) and not problem.aboard[i] and item.key not in must
            }
            if not poor:
                break
            shares = [(chance, tuple(self._possible(n, poor) for n in needs)) for chance, needs in shares]
        return shares

    def _possible(self, need: IndexedNeed, gone: set[int]) -> IndexedNeed:
        """The ways that are left without some items; of one job, what is aboard is taken off."""
        ways: list[IndexedWay] = []
        for way in need:
            left = tuple((tuple(i for i in serves if i not in gone), n) for serves, n in way)
            if all(serves for serves, _ in left):
                ways.append(left)
        return tuple(ways)

    def _items(self, shares: Sequence[tuple[float, tuple[IndexedNeed, ...]]]) -> list[int]:
        """The variable of each item's pieces, -1 where no piece can be of use."""
        problem, terms = self.problem, self.problem.terms
        must = dict(terms.must)
        useful = [0] * len(problem.items)
        for _, needs in shares:
            wanted = [0] * len(problem.items)
            for need in needs:
                most: dict[int, int] = {}
                for way in need:
                    total: dict[int, int] = {}
                    for serves, n in way:
                        for i in serves:
                            total[i] = max(total.get(i, 0), n)
                    for i, n in total.items():
                        most[i] = max(most.get(i, 0), n)
                for i, n in most.items():
                    wanted[i] += n
            useful = [max(a, b) for a, b in zip(useful, wanted, strict=True)]
        self.lower: list[float] = []
        pieces = []
        for i, item in enumerate(problem.items):
            forced = max(0, must.get(item.key, 0) - problem.aboard[i])
            most_of = max(forced, min(problem.most[i], useful[i] - problem.aboard[i]))
            if most_of <= 0:
                pieces.append(-1)
                continue
            each = terms.carrying_share * item.price
            single = most_of == 1
            money = self.aim == "money"
            v = self._variable((each + (terms.picking if single else 0.0)) if money else 0.0, float(most_of), True)
            self.lower[v] = float(forced)
            pieces.append(v)
            if not single and money and terms.picking > 0:
                picked = self._variable(terms.picking, 1.0, True)
                self._row([(picked, float(most_of)), (v, -1.0)], 0.0, inf)
        return pieces

    def _variable(self, cost: float, upper: float, whole: bool) -> int:
        self.cost.append(cost)
        self.upper.append(upper)
        self.lower.append(0.0)
        self.whole.append(whole)
        return len(self.cost) - 1

    def _row(self, entries: Sequence[tuple[int, float]], low: float, high: float) -> None:
        row = len(self.low)
        for v, factor in entries:
            self.entries[0].append(row)
            self.entries[1].append(v)
            self.entries[2].append(factor)
        self.low.append(low)
        self.high.append(high)

    def _job(self, chance: float, whole: bool) -> int:
        v = self._variable(-chance * self.trip, 1.0, whole)
        self.jobs.append((chance, v))
        return v

    def _open_ways(self, need: IndexedNeed) -> tuple[IndexedWay, ...] | None:
        """The ways of a job that has the van to itself, without what is aboard; None where that is enough."""
        aboard = self.problem.aboard
        ways = []
        for way in need:
            lacking = tuple((serves, n) for serves, n in way if sum(aboard[i] for i in serves) < n)
            if not lacking:
                return None
            loadable = all(any(self.pieces[i] >= 0 for i in serves) for serves, _ in lacking)
            if loadable:
                ways.append(lacking)
        return tuple(ways)

    def _alone(self, chance: float, ways: Sequence[IndexedWay]) -> None:
        """A job that has the van to itself is finished by any way all of whose slots are filled."""
        counts = any(n > 1 for way in ways for _, n in way)
        if all(len(way) == 1 and way[0][1] == 1 for way in ways):
            serving = sorted({self.pieces[i] for way in ways for i in way[0][0] if self.pieces[i] >= 0})
            if len(serving) == 1 and self.upper[serving[0]] == 1:
                self.cost[serving[0]] -= chance * self.trip
                self.jobs.append((chance, serving[0]))
                return
            job = self._job(chance, False)
            self._row([(job, -1.0), *((v, 1.0) for v in serving)], 0.0, inf)
            return
        job = self._job(chance, counts and len(ways) == 1)
        taken = [job] if len(ways) == 1 else [self._variable(0.0, 1.0, counts) for _ in ways]
        if len(ways) > 1:
            self._row([(job, -1.0), *((v, 1.0) for v in taken)], 0.0, inf)
        for v, way in zip(taken, ways, strict=True):
            for serves, n in way:
                held = sum(self.problem.aboard[i] for i in serves)
                loads = [(self.pieces[i], 1.0) for i in serves if self.pieces[i] >= 0]
                self._row([(v, -float(n)), *loads], -float(held), inf)

    def _together(self, chance: float, needs: Sequence[IndexedNeed]) -> None:
        """Jobs that draw on the same pieces: each piece goes to one job, for whichever of its slots it serves."""
        drawn: dict[int, list[int]] = {}
        for need in needs:
            if not need:
                continue
            if any(not way for way in need):
                self.always += chance
                continue
            job = self._job(chance, True)
            given: dict[int, int] = {}
            ways = [job] if len(need) == 1 else [self._variable(0.0, 1.0, True) for _ in need]
            if len(need) > 1:
                self._row([(job, -1.0), *((v, 1.0) for v in ways)], 0.0, inf)
            for v, way in zip(ways, need, strict=True):
                for serves, n in way:
                    row = [(v, -float(n))]
                    for i in serves:
                        if i not in given:
                            most = self.problem.aboard[i] + (self.upper[self.pieces[i]] if self.pieces[i] >= 0 else 0.0)
                            given[i] = self._variable(0.0, most, True)
                            drawn.setdefault(i, []).append(given[i])
                        row.append((given[i], 1.0))
                    self._row(row, 0.0, inf)
        for i, uses in drawn.items():
            loads = [(self.pieces[i], -1.0)] if self.pieces[i] >= 0 else []
            self._row([*((v, 1.0) for v in uses), *loads], -inf, float(self.problem.aboard[i]))


def unlimited(problem: KitProblem) -> KitProblem:
    """The same problem as if everything could be had without limit."""
    terms = replace(problem.terms, stock=(), limits=())
    most = tuple(terms.can_be_had(item) for item in problem.items)
    return replace(problem, terms=terms, most=tuple(m if isfinite(m) else inf for m in most))
