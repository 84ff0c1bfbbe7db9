"""The cheapest way to the end of a visit, by trying everything.

A dynamic program over every belief that any order of jobs can lead to, written for tests alone. It reads the
document as its author wrote it, takes what may be wrong and what it looks like from `counting`, and shares
nothing with the engine.

What it minimises: a job costs its minutes, with those of bringing the unit into the states it needs, at the
labour rate, and what it uses up. Each is done once at most, no observation whose evidence is gone, no repair that
nothing possible calls for. A repair ends with its trial run. Ending costs nothing where nothing is left wrong, and
otherwise another visit: the trip, somebody who looks into it anew, the usual repairs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.graph.counting import LEAST, Counting, Possibility

Numbers = NDArray[np.float64]
Places = NDArray[np.int64]
Plain = dict[str, Any]
Found = tuple[str, str]

END = "end"
LEAST_MINUTES = 0.25
IMPOSSIBLE = 1e-15
"""The chance of an outcome below which it is rounding."""
POSSIBLE = 1e-12
"""The chance above which a repair may be called for; nobody makes one only to see whether the unit runs."""
SLACK = 1e-9
"""Relative: money that is the same."""


@dataclass(frozen=True)
class Rates:
    """What time and another visit cost."""

    labour_per_hour: float
    return_trip: float
    support_minutes: float

    def labour(self, minutes: float) -> float:
        return minutes * self.labour_per_hour / 60


class Switching:
    """What every job asks for in every state that the unit can be brought into, the usual one first."""

    def __init__(self, document: Plain) -> None:
        self.document = document
        self.unit_states: Plain = document.get("unit_states", {})
        self.observations: Plain = {**document.get("symptoms", {}), **document.get("tests", {})}
        self.remedies: Plain = document["remedies"]
        usual = tuple((name, str(u["usual"])) for name, u in self.unit_states.items())
        self.states = [usual]
        self.minutes: list[dict[str, float]] = []
        self.after: list[dict[str, int]] = []
        self.lost: list[dict[str, set[str]]] = []
        for state in self.states:
            self.minutes.append({})
            self.after.append({})
            self.lost.append({})
            for job in [*self.observations, *self.remedies]:
                minutes, then, lost = self.do(job, dict(state))
                if then not in self.states:
                    self.states.append(then)
                self.minutes[-1][job] = minutes
                self.after[-1][job] = self.states.index(then)
                self.lost[-1][job] = lost

    def needed(self, test: Plain) -> dict[str, str]:
        """A unit that is locked out shows nothing, unless the test says that it does."""
        asked = {} if "shows" in test else {n: u["usual"] for n, u in self.unit_states.items() if "lockout" in u}
        return {n: s for n, s in {**asked, **test.get("needs", {})}.items() if s != "any"}

    def do(self, job: str, state: dict[str, str]) -> tuple[float, tuple[tuple[str, str], ...], set[str]]:
        """Minutes, the state of the unit afterwards, the observations whose evidence is gone."""
        minutes = 0.0
        gone: set[str] = set()
        for needs, work in self.stages(job):
            for name, wanted in needs.items():
                if state[name] != wanted:
                    minutes += self.unit_states[name].get("minutes", {}).get(wanted, 0)
                    gone |= set(self.unit_states[name].get("disturbs", {}).get(wanted, ()))
                    state[name] = wanted
            minutes += work.get("minutes", 1)
            gone |= set(work.get("disturbs", ()))
        lost = {
            name for name, o in self.observations.items()
            if name != job and Counting.about(o) in gone and Counting.about(o) not in o.get("disturbs", ())
        }
        return max(LEAST_MINUTES, minutes), tuple(state.items()), lost

    def stages(self, job: str) -> Iterator[tuple[dict[str, str], Plain]]:
        """The unit states that are needed and the work that is then done, one after the other."""
        if job in self.observations:
            yield self.needed(self.observations[job]), self.observations[job]
            return
        remedy = self.remedies[job]
        yield {n: s for n, s in remedy.get("needs", {}).items() if s != "any"}, remedy
        if "verify" in remedy:
            trial = self.observations[remedy["verify"]]
            yield self.needed(trial), trial
        else:
            yield self.needed({}), {"minutes": 0}


class Task:
    """One document as a decision: H hypotheses, A jobs, their outcomes below one another.

    `chances[j]` (outcomes x H) for an observation; for a repair, of its trial run on what is `left[j]` (H).
    `price` (U x A), `after` (U x A) and `closes` (U x A x A) are by state of the unit.
    """

    def __init__(self, document: Plain, rates: Rates) -> None:
        self.document, self.rates = document, rates
        counting = Counting(document)
        listed = [p for p in counting.prior if p.faults is not None]
        self.sets = [p.faults for p in listed if p.faults is not None]
        self.prior: Numbers = np.array([p.chance for p in counting.prior])
        assert counting.prior[-1].faults is None
        assert abs(self.prior.sum() - 1) < 1e-12
        same = np.arange(len(self.prior))
        self.work = Switching(document)
        self.jobs = [*counting.observations, *counting.remedies]
        self.tests = len(counting.observations)
        self.outcomes: list[list[str]] = []
        self.chances: list[Numbers] = []
        self.left: list[Places] = []
        for observation in counting.observations.values():
            names = counting.outcomes(observation)
            rows = np.array([[counting.once(observation, p)[o] for p in listed] for o in names])
            told = np.maximum(LEAST, rows @ self.prior[:-1] / self.prior[:-1].sum())
            self.outcomes.append(names)
            self.chances.append(np.column_stack([rows, told]))
            self.left.append(same)
        runs = np.array([counting.verdict("runs", p.faults) for p in counting.prior])
        for remedy in counting.remedies:
            left = [self.sets.index(s - self.modes_of(counting, remedy)) for s in self.sets]
            self.outcomes.append(["runs", "still_faulty"])
            self.left.append(np.array([*left, len(left)]))
            self.chances.append(np.array([runs, 1 - runs])[:, self.left[-1]])
        moved = np.array(self.left[self.tests:]) != same
        self.calls_for: Numbers = moved.T.astype(np.float64)
        self.owner: Places = np.repeat(np.arange(len(self.jobs)), [len(o) for o in self.outcomes])
        self.price: Numbers = np.array([[self.price_of(j, u) for j in self.jobs] for u in range(len(self.work.states))])
        self.after: Places = np.array([[after[j] for j in self.jobs] for after in self.work.after])
        self.closes = np.array([
            [[other == job or other in lost[job] for other in self.jobs] for job in self.jobs]
            for lost in self.work.lost
        ])
        self.ends: Numbers = np.array([*self._ends(counting, listed)])
        self.floor: Numbers = np.array([*(self._floor(counting, s) for s in self.sets), self.ends[-1]])

    @staticmethod
    def modes_of(counting: Counting, remedy: str) -> frozenset[str]:
        return frozenset(m for m, mode in counting.modes.items() if remedy in mode["remedies"])

    def price_of(self, job: str, state: int) -> float:
        record = self.work.observations.get(job) or self.work.remedies[job]
        parts = self.document.get("parts", {})
        goods = sum(parts[p]["price"] * n for p, n in record.get("parts", {}).items())
        return self.rates.labour(self.work.minutes[state][job]) + float(record.get("materials", 0)) + float(goods)

    def _ends(self, counting: Counting, listed: Sequence[Possibility]) -> Iterator[float]:
        """Money of ending the visit: another trip, another look, the first remedy of each mode, each once."""
        again = self.rates.return_trip + self.rates.labour(self.rates.support_minutes)
        repairs = [sum(self.price_of(r, 0) for r in counting.repair(s) or ()) for s in self.sets]
        faulty = [(p.chance, price) for p, price in zip(listed, repairs, strict=True) if p.faults]
        yield from (again + price if s else 0.0 for s, price in zip(self.sets, repairs, strict=True))
        yield again + sum(c * price for c, price in faulty) / sum(c for c, _ in faulty)

    def _floor(self, counting: Counting, faults: frozenset[str]) -> float:
        """Money that nobody gets away below: one of the repairs, or leaving some of it to another visit."""
        ends = [e for s, e in zip(self.sets, self.ends.tolist()[:-1], strict=True) if s and s <= faults]
        repairs = [self.price[:, self.jobs.index(r)].min() for m in faults for r in counting.modes[m]["remedies"]]
        return float(min([*ends, *repairs], default=0.0))

    def step(self, belief: Numbers, job: int) -> Numbers:
        """What is believed and how likely each outcome makes it (outcomes x n x H) of beliefs (n x H)."""
        joint = self.chances[job][:, None, :] * belief
        if job < self.tests:
            return joint
        moved = np.zeros_like(joint)
        for before, after in enumerate(self.left[job].tolist()):
            moved[:, :, after] += joint[:, :, before]
        return moved

    @cached_property
    def start(self) -> Layer:
        return Layer(self.prior[None, :], np.ones((1, len(self.jobs)), dtype=bool), np.zeros(1, dtype=np.int64))

    @cached_property
    def plan(self) -> Plan:
        """From the first belief, everything open, the unit as usual."""
        return Plan(self, self.start)


@dataclass(eq=False)
class Layer:
    """n states after as many jobs: belief (n x H), what is open (n x A), the unit (n).

    `child` and `chance` (n x outcomes of all jobs) lead into the next layer (-1: not followed); `worth` (n x A) is
    the money to the end when a job comes next, `stop` (n) that of ending, `value` (n) the least of all.
    """

    belief: Numbers
    open: NDArray[np.bool_]
    unit: Places
    child: Places = field(init=False)
    chance: Numbers = field(init=False)
    worth: Numbers = field(init=False)
    stop: Numbers = field(init=False)
    value: Numbers = field(init=False)


class Plan:
    """Every state that can be reached from a first one, and the least money to the end from each.

    A job is followed (unless `every` is) only where it could beat ending, now or after one repair, for somebody
    who learns with it all that is wrong. From the first state every job is.
    """

    def __init__(self, task: Task, start: Layer, every: bool = False) -> None:
        self.task = task
        dice = np.random.default_rng(0)
        self._keys = dice.integers(1, 2**63, size=len(task.prior) + len(task.jobs) + 1, dtype=np.uint64)
        self.layers = [start]
        while len(self.layers[-1].unit):
            self.layers.append(self._next(self.layers[-1], every=every or len(self.layers) == 1))
        for here, below in zip(reversed(self.layers[:-1]), reversed(self.layers[1:]), strict=True):
            self._value(here, below)

    @property
    def states(self) -> int:
        return sum(len(layer.unit) for layer in self.layers)

    @property
    def least(self) -> float:
        """The least money to the end from the first state."""
        return float(self.layers[0].value[0])

    def _next(self, here: Layer, every: bool) -> Layer:
        """The states one job later, each once."""
        task = self.task
        here.stop = here.belief @ task.ends
        here.child = np.full((len(here.unit), len(task.owner)), -1, dtype=np.int64)
        here.chance = np.zeros(here.child.shape)
        joints = [task.step(here.belief, job) for job in range(len(task.jobs))]
        here.open[:, task.tests:] &= here.belief @ task.calls_for > POSSIBLE
        price = np.where(here.open, task.price[here.unit], np.inf)
        once = [price[:, j] + joints[j].sum(axis=0) @ task.ends for j in range(task.tests, len(task.jobs))]
        enough = np.minimum.reduce([here.stop, *once]) * (1 + SLACK)
        pieces, places = [], []
        for job, joint in enumerate(joints):
            least = price[:, job] + (joint @ task.floor).sum(axis=0)
            going = here.open[:, job] if every else here.open[:, job] & (least <= enough)
            for outcome, found in zip(np.flatnonzero(task.owner == job), joint, strict=True):
                chance = found.sum(axis=1)
                which = np.flatnonzero(going & (chance > IMPOSSIBLE))
                here.chance[which, outcome] = chance[which]
                still = here.open[which] & ~task.closes[here.unit[which], job]
                pieces.append((found[which] / chance[which, None], still, task.after[here.unit[which], job]))
                places.append((which, np.full(len(which), outcome)))
        belief = np.concatenate([b for b, _, _ in pieces])
        still = np.concatenate([s for _, s, _ in pieces])
        unit = np.concatenate([u for _, _, u in pieces])
        _, example, number = np.unique(self._key(belief, still, unit), return_index=True, return_inverse=True)
        here.child[np.concatenate([w for w, _ in places]), np.concatenate([o for _, o in places])] = number
        return Layer(belief[example], still[example], unit[example])

    def _key(self, belief: Numbers, still: NDArray[np.bool_], unit: Places) -> NDArray[np.uint64]:
        """One number a state: the same for beliefs that agree to eleven digits, by chance alone for others."""
        parts = np.column_stack([np.rint(belief * 1e11), still, unit]).astype(np.uint64)
        return np.asarray((parts * self._keys).sum(axis=1, dtype=np.uint64))

    def _value(self, here: Layer, below: Layer) -> None:
        task = self.task
        values = np.append(below.value, 0.0) if len(below.unit) else np.zeros(1)
        rest = here.chance * values[here.child]
        first = np.unique(task.owner, return_index=True)[1]
        sums = np.add.reduceat(rest, first, axis=1)
        followed = np.logical_or.reduceat(here.child >= 0, first, axis=1)
        here.worth = np.where(followed, task.price[here.unit] + sums, np.inf)
        here.value = np.minimum(here.stop, here.worth.min(axis=1, initial=np.inf))


@dataclass(frozen=True)
class Moment:
    """One state that a way of working reaches: what was found, how likely it is, the least money from here.

    `worth` is the money to the end for each first job that was followed and for ending.
    """

    findings: tuple[Found, ...]
    reach: float
    least: float
    worth: Mapping[str, float]
    nothing_left: float


def cost_of(task: Task, choose: Callable[[Moment], str]) -> float:
    """The expected money to the end for a way of working, followed through everything that may be found."""
    return _follow(task, choose, task.plan, 0, 0, (), 1.0)


def _follow(
    task: Task, choose: Callable[[Moment], str], plan: Plan, depth: int, place: int, findings: tuple[Found, ...],
    reach: float,
) -> float:
    here = plan.layers[depth]
    worth: dict[str, float] = {j: w for j, w in zip(task.jobs, here.worth[place].tolist(), strict=True) if w < np.inf}
    worth[END] = float(here.stop[place])
    sound = task.sets.index(frozenset())
    nothing = float(here.belief[place, sound])
    choice = choose(Moment(findings, reach, float(here.value[place]), worth, nothing))
    if choice == END:
        return worth[END]
    job = task.jobs.index(choice)
    assert here.open[place, job], f"{choice} has been done, its evidence is gone, or nothing calls for it"
    if choice not in worth:
        again = Layer(here.belief[[place]], here.open[[place]], here.unit[[place]])
        plan, depth, place = Plan(task, again), 0, 0
        here = plan.layers[0]
    total = float(task.price[here.unit[place], job])
    for outcome, column in zip(task.outcomes[job], np.flatnonzero(task.owner == job).tolist(), strict=True):
        child, chance = int(here.child[place, column]), float(here.chance[place, column])
        if child >= 0:
            found = (*findings, (choice, outcome))
            total += chance * _follow(task, choose, plan, depth + 1, child, found, reach * chance)
    return total
