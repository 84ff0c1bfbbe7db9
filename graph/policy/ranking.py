"""Which test or repair comes next: decision gain for its cost, one step ahead.

A test scores its information gain over remedy classes for its price. A repair competes with it: the
drop of that entropy when it is tried and verified, for its price times the chance that it does not
fix the fault. Where a job would destroy evidence still worth taking, the look that takes it comes first,
and the job pays for it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from graph.belief import Belief
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.equipment import Equipment, Observation, Remedy
from graph.gain import Gains, gains
from graph.hypotheses import Floats, Ints, sums_by
from graph.workload import Workload, workload

WORTH_TAKING = 0.005
"""Bits: evidence worth less than this may be destroyed."""
TOO_LITTLE = 0.002
"""Bits up to which no test is worth proposing."""
WORTH_FETCHING = 0.2
"""A test that something is missing for is named if it scores this share of the best open one."""
LIKELY_ENOUGH = 0.05
"""A repair is considered when the chance that it puts everything right is at least this."""
MOST_REMEDIES = 4


@dataclass(frozen=True, slots=True)
class RankedTest:
    """An observation worth considering: gains in bits, money, what is missing, what to look at first."""

    index: int
    observation: Observation
    gain: float
    gain_hypotheses: float
    minutes: float
    price: float
    score: float
    missing: tuple[str, ...]
    look_first: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RankedRemedy:
    """A repair worth considering: `chance` that it puts everything right, `score` in bits per money."""

    remedy: Remedy
    chance: float
    minutes: float
    price: float
    score: float
    missing: tuple[str, ...]
    look_first: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Ranking:
    """Observations not yet made, best first (`in_order`, their places among `names`).

    `unmade` are these and the ones that tell nothing by themselves; `able` (T) marks what the asker can make,
    `promising` (T) what scores well enough to be worth fetching something for; `at_risk` are the gains of open
    observations that some job destroys, `gains` those of every observation.
    """

    model: CompiledModel
    asker: Asker
    work: Workload
    economics: Economics
    gains: Gains
    at_risk: dict[str, float]
    names: tuple[str, ...]
    in_order: Ints
    unmade: Ints
    able: NDArray[np.bool_]
    promising: NDArray[np.bool_]

    def order(self, most: int = 100_000) -> tuple[str, ...]:
        """All observations not yet made, best first."""
        return tuple([self.names[i] for i in self.in_order[:most].tolist()])

    def open(self, most: int = 100_000) -> tuple[str, ...]:
        """Those that the asker can make."""
        return tuple([self.names[i] for i in self.in_order[self.able[self.in_order]][:most].tolist()])

    def candidates(self) -> tuple[str, ...]:
        """Those that the asker can make, also where they tell nothing by themselves."""
        return tuple([self.names[i] for i in self.unmade[self.able[self.unmade]].tolist()])

    def blocked(self, most: int = 100_000) -> tuple[str, ...]:
        """The good ones for which something is missing."""
        chosen = self.in_order[self.promising[self.in_order] & ~self.able[self.in_order]]
        return tuple([self.names[i] for i in chosen[:most].tolist()])

    def looks(self, name: str, needed: float = 1.0) -> tuple[str, ...]:
        """What has to be looked at before a job; `needed` as in `worth_looking`."""
        looks = worth_looking(self.work.destroys.get(name, ()), self.at_risk, needed)
        return tuple([look for look in looks if look != name])

    def worth(self, name: str) -> float:
        """The gain of an observation over remedy classes, bits."""
        return float(self.gains.classes[self.model.by_id[name]])

    def score(self, name: str) -> float:
        """Bits for one unit of money."""
        return self.worth(name) / self.price(name)

    def price(self, name: str) -> float:
        """What an observation costs, money."""
        materials = self.model.equipment.observations[name].materials
        return self.economics.labour(self.work.minutes[name]) + materials

    def test(self, name: str) -> RankedTest:
        """One observation with everything that ranks it."""
        index = self.model.by_id[name]
        price, bits = self.price(name), self.worth(name)
        return RankedTest(
            index, self.model.equipment.observations[name], bits, float(self.gains.hypotheses[index]),
            self.work.minutes[name], price, bits / price, self.work.missing[name], self.looks(name),
        )


def rank_tests(belief: Belief, asker: Asker, economics: Economics, passed_over: Iterable[str] = ()) -> Ranking:
    """Rank the observations not yet made (ties by id).

    `passed_over` are observations that were skipped or could not be told: they are not offered again.
    """
    model = belief.model
    work = workload(model.equipment, asker)
    place = _places(model, asker)
    value = gains(belief)
    bits = value.classes
    unmade = np.ones(len(bits), dtype=bool)
    unmade[[model.by_id[n] for n in (*passed_over, *(c.about for c in belief.evidence)) if n in model.by_id]] = False
    left = unmade & (bits > TOO_LITTLE)
    per_minute = economics.labour(1)
    scores = bits / (per_minute * place.minutes + place.materials)
    due, worth, still = scores.tolist(), bits.tolist(), left.tolist()
    at_risk = {n: worth[i] for n, i in place.fragile if still[i] and place.able[i]}
    precious = {n for n, gain in at_risk.items() if gain > WORTH_TAKING}
    for lost, jobs in place.destructive if precious else ():
        looks = lost & precious
        extra = sum([work.minutes[n] for n in looks])
        for i, able in jobs if looks else ():
            if still[i]:
                due[i] = worth[i] / (worth[i] / due[i] + per_minute * extra)
                if able:
                    for look in looks:
                        due[model.by_id[look]] = max(due[model.by_id[look]], due[i] * (1 + 1e-9))
    order = place.by_name[np.argsort(-np.array(due)[place.by_name], kind="stable")]
    unmade_in_order, order = order[unmade[order]], order[left[order]]
    enough = WORTH_FETCHING * float((scores * (left & place.able)).max(initial=0.0))
    return Ranking(
        model, asker, work, economics, value, at_risk, place.names, order, unmade_in_order, place.able, scores > enough,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Places:
    """The workload of one asker in the order of the model's watches (T), and that order by name.

    `destructive` are the observations that destroy evidence, grouped by what they destroy: place, whether the
    asker can make them. `materials` is money.
    """

    names: tuple[str, ...]
    by_name: Ints
    minutes: Floats
    materials: Floats
    able: NDArray[np.bool_]
    fragile: tuple[tuple[str, int], ...]
    destructive: tuple[tuple[frozenset[str], tuple[tuple[int, bool], ...]], ...]


@lru_cache(maxsize=256)
def _places(model: CompiledModel, asker: Asker) -> _Places:
    work = workload(model.equipment, asker)
    names = tuple(model.by_id)
    groups: dict[frozenset[str], list[tuple[int, bool]]] = {}
    for name, lost in work.destroys.items():
        if name in model.by_id:
            groups.setdefault(frozenset(lost), []).append((model.by_id[name], not work.missing[name]))
    return _Places(
        names,
        np.array(sorted(range(len(names)), key=names.__getitem__), dtype=np.int64),
        np.array([work.minutes[n] for n in names]),
        np.array([w.observation.materials for w in model.watches]),
        np.array([not work.missing[n] for n in names], dtype=bool),
        tuple((n, model.by_id[n]) for n in sorted(work.fragile)),
        tuple((lost, tuple(jobs)) for lost, jobs in groups.items()),
    )


def worth_looking(lost: Iterable[str], at_risk: dict[str, float], needed: float = 1.0) -> tuple[str, ...]:
    """The open observations worth taking before their evidence is lost, most valuable first (ties by id).

    `at_risk` are the gains of open observations that some job destroys; `needed` is the chance that the
    evidence will be needed after the job.
    """
    worth = [n for n in lost if at_risk.get(n, 0.0) * needed > WORTH_TAKING]
    return tuple(sorted(worth, key=lambda n: (-at_risk[n], n)))


def rank_remedies(belief: Belief, ranking: Ranking, also: Collection[str] = ()) -> list[RankedRemedy]:
    """The repairs that may put everything right, and the ones named in `also`, best first (ties by id)."""
    model, work, economics = belief.model, ranking.work, ranking.economics
    equipment = model.equipment
    chances = model.fixes @ belief.rows
    likely = [i for i in np.argsort(-chances, kind="stable")[:MOST_REMEDIES].tolist() if chances[i] >= LIKELY_ENOUGH]
    likely += [i for i, r in enumerate(_remedies(equipment)) if r.id in also and i not in likely] if also else []
    choices = []
    for i, drop in zip(likely, _drops(model, belief.rows, likely), strict=True):
        remedy, chance = _remedies(equipment)[i], float(chances[i])
        first = ranking.looks(remedy.id, 1 - chance)
        minutes = work.minutes[remedy.id]
        price = economics.labour(minutes) + goods_price(equipment, remedy)
        paid = price + sum([economics.labour(work.minutes[n]) for n in first])
        choices.append(RankedRemedy(
            remedy, chance, minutes, price, drop / (paid * max(1 - chance, 1e-3)), work.missing[remedy.id], first,
        ))
    choices.sort(key=lambda c: (-c.score, c.remedy.id))
    return choices


def goods_price(equipment: Equipment, job: Observation | Remedy) -> float:
    """What a job uses up: parts and materials, money."""
    parts = job.parts if isinstance(job, Remedy) else ()
    return job.materials + sum([equipment.parts[p].price * n for p, n in parts])


@lru_cache(maxsize=64)
def _remedies(equipment: Equipment) -> tuple[Remedy, ...]:
    return tuple(equipment.remedies.values())


def _drops(model: CompiledModel, rows: Floats, remedies: Sequence[int]) -> list[float]:
    """The expected drop of class entropy when each remedy is tried and verified, bits.

    After a failure, which comes with the chance of the rows that the remedy does not fix, those that it fixes
    are ruled out.
    """
    if not remedies:
        return []
    mass = sums_by(model.classes.of_row, rows, len(model.classes.remedies))
    spread = mass * np.log2(np.maximum(mass, 1e-300))
    touched = [_touched(model, i) for i in remedies]
    sizes = [len(classes) for _, classes, _ in touched]
    starts = np.cumsum([0, *sizes[:-1]])
    classes = np.concatenate([classes for _, classes, _ in touched])
    place = np.concatenate([place + start for (_, _, place), start in zip(touched, starts.tolist(), strict=True)])
    gone = sums_by(place, rows[np.concatenate([fixed for fixed, _, _ in touched])], len(classes))
    rest = np.maximum(mass[classes] - gone, 0.0)
    changed = np.add.reduceat(rest * np.log2(np.maximum(rest, 1e-300)) - spread[classes], starts)
    kept = np.maximum(1.0 - np.add.reduceat(gone, starts), 0.0)
    drop = changed - kept * np.log2(np.maximum(kept, 1e-300))
    return [max(d, 0.0) for d in np.where(kept > 0, drop, -spread.sum()).tolist()]


@lru_cache(maxsize=4096)
def _touched(model: CompiledModel, remedy: int) -> tuple[Ints, Ints, Ints]:
    """The rows that a remedy fixes, their classes, and the place among these of each such row."""
    fixed = model.fixes.indices[model.fixes.indptr[remedy]: model.fixes.indptr[remedy + 1]].astype(np.int64)
    touched, place = np.unique(model.classes.of_row[fixed], return_inverse=True)
    return fixed, touched.astype(np.int64), place.reshape(-1).astype(np.int64)
