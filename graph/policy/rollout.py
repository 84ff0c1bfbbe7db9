"""What a plan that scores one step ahead will cost, followed to its end from many beliefs at once.

The base policy takes the test or repair with the largest drop of class entropy for its money (for a repair:
times the chance that it does not put things right), and ends the visit as soon as that is cheaper than what
it would go on to spend. All beliefs of one depth are handled together; nodes too unlikely to matter are priced
by trying repairs in the order of chance over price (J. Kadane and H. Simon, 1977) up to the cheapest moment to
stop. One such run from every outcome of a few first steps is the one-step rollout (D. Bertsekas, J. Tsitsiklis
and C. Wu, "Rollout algorithms for combinatorial optimization", 1997).
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from graph.columns import Matrix, indicator
from graph.hypotheses import Floats, Ints
from graph.policy.problem import Problem
from graph.signals import Bools

SURE = 1e-3
"""Chance of failure that a repair is never credited below."""
TINY = 1e-300


@dataclass(frozen=True, slots=True, eq=False)
class Nodes:
    """B beliefs: `mass` (B x H) not normalised, `open` (B x A) jobs that can still be done, `state` (B) of the unit."""

    mass: Floats
    open: Bools
    state: Ints

    def __len__(self) -> int:
        return len(self.state)

    def __getitem__(self, chosen: Ints) -> Nodes:
        return Nodes(self.mass[chosen], self.open[chosen], self.state[chosen])


@dataclass(frozen=True, slots=True, eq=False)
class Steps:
    """What follows one job in each of B nodes: `children`, the number of the node each comes from, and the money.

    `cost` (B) is the price of the job. A clean trial run has a child too: a fault that comes and goes may be left.
    """

    children: Nodes
    parent: Ints
    cost: Floats


def root(problem: Problem, closed: Collection[str] = ()) -> Nodes:
    """The belief now, all jobs open but the `closed`, the unit in its present state."""
    still = np.array([name not in closed for name in problem.jobs], dtype=bool)
    return Nodes(problem.weight[None, :], still[None, :], np.zeros(1, dtype=np.int64))


class Rollout:
    """The base policy of one problem. `width` is how many beliefs of one depth are followed on."""

    def __init__(self, problem: Problem, width: int) -> None:
        self.problem = problem
        self.width = width
        self.rows = np.arange(len(problem.weight))
        self.cures = problem.ends[problem.left] == 0
        self.by_test = np.diff(np.append(problem.starts, len(problem.owner)))

    @cached_property
    def mixed(self) -> Bools:
        """Where a class has rows that a test may tell apart (T x C)."""
        p = self.problem
        classes = int(p.classes.max()) + 1
        low, high = np.full((classes, len(p.owner)), np.inf), np.zeros((classes, len(p.owner)))
        np.minimum.at(low, p.classes, p.chances.T)
        np.maximum.at(high, p.classes, p.chances.T)
        return np.asarray(np.logical_or.reduceat(high - low > 1e-12, p.starts, axis=1).T)

    @cached_property
    def told(self) -> Floats:
        """What each test leaves open of a row whose class it does not split, nats times mass (H x T)."""
        p = self.problem
        noise = np.add.reduceat(_xlogx(p.chances), p.starts, axis=0)
        return np.ascontiguousarray(np.where(self.mixed[:, p.classes], 0.0, noise).T)

    @cached_property
    def joint(self) -> tuple[Matrix, Matrix]:
        """Turns rows into the outcome masses of all split classes (cells x H), and adds these up by test."""
        p = self.problem
        cell = np.full((len(p.owner), self.mixed.shape[1]), -1, dtype=np.int64)
        outcome, number = np.nonzero(self.mixed[p.owner])
        cell[outcome, number] = np.arange(len(outcome))
        reads, row = np.nonzero((cell[:, p.classes] >= 0) & (p.chances > 0))
        place = cell[reads, p.classes[row]]
        masses = indicator([place], [row], [p.chances[reads, row]], (len(outcome), len(p.weight)))
        return masses, indicator([p.owner[outcome]], [np.arange(len(outcome))], None, (p.tests, len(outcome)))

    @cached_property
    def by_class(self) -> Floats:
        """Sums rows into remedy classes (H x C)."""
        return np.eye(int(self.problem.classes.max()) + 1)[self.problem.classes]

    @cached_property
    def uncured(self) -> tuple[Ints, Ints, Floats]:
        """The classes that each repair cures rows of: their number, the repair's (ascending), the rows not cured."""
        cured = self.cures.astype(np.float64) @ self.by_class
        repair, number = np.nonzero(cured)
        return number, repair, (self.by_class[:, number] * ~self.cures.T[:, repair]).astype(np.float64)

    @cached_property
    def one_repair(self) -> Floats:
        """The cheapest repair of each row that any cures, so that none counts twice (H x R)."""
        prices = np.where(self.cures, self.problem.prices[0, self.problem.tests:, None], np.inf)
        return np.asarray((np.arange(len(prices))[:, None] == prices.argmin(axis=0)) & self.cures, dtype=np.float64).T

    def scores(self, nodes: Nodes) -> Floats:
        """The score of every open job (B x A): nats of class entropy for money, 0 and below where there is none."""
        p = self.problem
        mass = nodes.mass
        total = mass.sum(axis=1)
        spread = _xlogx(mass @ self.by_class)
        classes = spread.sum(axis=1)
        prices = p.prices[nodes.state]
        drops = np.zeros(prices.shape)
        if p.tests:
            gain = mass @ self.told - np.add.reduceat(_xlogx(mass @ p.chances.T), p.starts, axis=1)
            masses, by_test = self.joint
            if masses.shape[0]:
                gain += (by_test @ _xlogx(masses @ mass.T)).T - spread @ self.mixed.T
            drops[:, : p.tests] = gain + _xlogx(total)[:, None]
        if len(p.left):
            number, repair, rows = self.uncured
            rest = mass @ rows
            changed = np.zeros((len(mass), len(p.left)))
            if len(repair):
                starts = np.flatnonzero(np.diff(repair, prepend=-1))
                some = repair[starts]
                changed[:, some] = np.add.reduceat(_xlogx(rest) - spread[:, number], starts, axis=1)
            fails = np.maximum(total[:, None] - mass @ self.cures.T, 0.0)
            open_after = _xlogx(fails) - changed - classes[:, None]
            share = np.maximum(fails / np.maximum(total, TINY)[:, None], SURE)
            drops[:, p.tests:] = ((_xlogx(total) - classes)[:, None] - open_after) / share
        return np.where(nodes.open & (drops > 1e-9 * total[:, None]), drops / prices, -1.0)

    def tail(self, nodes: Nodes) -> Floats:
        """Money (B) of trying repairs in the order of chance over price, or ending the visit."""
        p = self.problem
        total = nodes.mass.sum(axis=1)
        stop = nodes.mass @ p.ends
        if not len(p.left):
            return np.asarray(stop)
        prices = p.prices[nodes.state][:, p.tests:]
        cured = np.where(nodes.open[:, p.tests:], nodes.mass @ self.one_repair, 0.0)
        order = np.argsort(-cured / prices, axis=1, kind="stable")
        cured, prices = np.take_along_axis(cured, order, 1), np.take_along_axis(prices, order, 1)
        after = np.maximum(total[:, None] - np.cumsum(cured, axis=1), 0.0)
        before = np.concatenate([total[:, None], after[:, :-1]], axis=1)
        spent = np.cumsum(before * prices, axis=1)
        ending = spent + (stop / np.maximum(total, TINY))[:, None] * after
        return np.asarray(np.minimum(stop, ending.min(axis=1)))

    def step(self, nodes: Nodes, jobs: Ints) -> Steps:
        """Do job `jobs[i]` in node i."""
        p = self.problem
        price = p.prices[nodes.state, jobs] * nodes.mass.sum(axis=1)
        state = p.after[nodes.state, jobs]
        still = nodes.open.copy()
        still[np.arange(len(jobs)), jobs] = False
        still[:, : p.tests] &= ~p.spoils[nodes.state, jobs]
        is_test = jobs < p.tests
        pieces, parents = [], []
        tested = np.flatnonzero(is_test)
        if len(tested):
            sizes = self.by_test[jobs[tested]]
            parent = np.repeat(tested, sizes)
            within = np.arange(len(parent)) - np.repeat(np.cumsum(sizes) - sizes, sizes)
            pieces.append(nodes.mass[parent] * p.chances[p.starts[jobs[parent]] + within])
            parents.append(parent)
        tried = np.flatnonzero(~is_test)
        if len(tried):
            left = p.left[jobs[tried] - p.tests] + np.arange(len(tried))[:, None] * len(self.rows)
            moved = np.bincount(left.ravel(), nodes.mass[tried].ravel(), left.size).reshape(left.shape)
            clean = moved * p.runs
            pieces += [clean, moved - clean]
            parents += [tried, tried]
        mass, parent = np.concatenate(pieces), np.concatenate(parents)
        possible = mass.sum(axis=1) > 1e-15
        mass, parent = mass[possible], parent[possible]
        return Steps(Nodes(mass, still[parent], state[parent]), parent, price)

    def values(self, nodes: Nodes, small: float) -> Floats:
        """Money (B) to the end from each node; nodes of less mass than `small` are not followed on.

        Nor are those where ending costs less than any job, as after most clean trial runs.
        """
        cheapest = self.problem.prices.min(initial=np.inf)
        depths: list[tuple[Floats, Ints, Steps]] = []
        below = np.zeros(0)
        while len(nodes):
            total = nodes.mass.sum(axis=1)
            stop = nodes.mass @ self.problem.ends
            worth = np.flatnonzero((total > small) & (stop > total * cheapest))
            if len(worth) > self.width:
                worth = np.sort(worth[np.argsort(-total[worth], kind="stable")[: self.width]])
            value = self.tail(nodes)
            jobs, going = self.choices(nodes[worth])
            worth = worth[going]
            if not len(worth):
                below = value
                break
            value[worth] = stop[worth]
            steps = self.step(nodes[worth], jobs[going])
            depths.append((value, worth, steps))
            nodes = steps.children
        for value, went, steps in reversed(depths):
            on = steps.cost + np.bincount(steps.parent, below, len(went))
            value[went] = np.minimum(value[went], on)
            below = value
        return below

    def choices(self, nodes: Nodes) -> tuple[Ints, Bools]:
        """The best job of each node (B), and whether it is worth anything."""
        if not len(nodes) or not nodes.open.shape[1]:
            return np.zeros(len(nodes), dtype=np.int64), np.zeros(len(nodes), dtype=bool)
        scores = self.scores(nodes)
        jobs = scores.argmax(axis=1)
        return jobs, scores[np.arange(len(nodes)), jobs] > 0


def _xlogx(mass: Floats) -> Floats:
    """X log x in nats, 0 at 0."""
    return np.asarray(mass * np.log(mass + TINY))
