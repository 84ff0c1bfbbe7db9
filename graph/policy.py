"""Which test or repair comes next: decision gain for its cost, one step ahead.

A test scores its information gain over remedy classes for its price. A repair competes with it: the
drop of that entropy when it is tried and verified, for its price times the chance that it does not
fix the fault. Where a job would destroy evidence still worth taking, the look that takes it comes first,
and the job pays for it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from graph.belief import Belief
from graph.compile import CompiledModel
from graph.context import Asker, Economics, Workload, workload
from graph.equipment import Observation, Remedy
from graph.gain import Gains, class_entropy, gains
from graph.hypotheses import Floats, sums_by

WORTH_TAKING = 0.005
"""Bits: evidence worth less than this may be destroyed."""
TOO_LITTLE = 0.002
"""Bits up to which no test is worth proposing."""
WORTH_FETCHING = 0.2
"""A test that something is missing for is named if it scores this share of the best open one."""
LIKELY_ENOUGH = 0.05
"""A repair is considered when the chance that it puts everything right is at least this."""
MOST_REMEDIES = 8


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
    """Observations not yet made, best first: all in `order`, those `open` to the asker, and those `blocked`.

    Blocked are the good ones for which something is missing. `scores` are bits for one unit of money,
    `looks` what has to be looked at before each, `gains` those of every observation.
    """

    model: CompiledModel
    work: Workload
    economics: Economics
    gains: Gains
    scores: dict[str, float]
    looks: dict[str, tuple[str, ...]]
    order: tuple[str, ...]
    open: tuple[str, ...]
    blocked: tuple[str, ...]

    def worth(self, name: str) -> float:
        """The gain of an observation over remedy classes, bits."""
        return float(self.gains.classes[self.model.by_id[name]])

    def test(self, name: str) -> RankedTest:
        """One observation with everything that ranks it."""
        index = self.model.by_id[name]
        minutes = self.work.minutes[name]
        price = self.economics.labour(minutes)
        bits = self.worth(name)
        return RankedTest(
            index, self.model.equipment.observations[name], bits, float(self.gains.hypotheses[index]), minutes, price,
            bits / price, self.work.missing[name], self.looks.get(name, ()),
        )


def rank_tests(belief: Belief, asker: Asker, economics: Economics, passed_over: Iterable[str] = ()) -> Ranking:
    """Rank the observations not yet made (ties by id).

    `passed_over` are observations that were skipped or could not be told: they are not offered again.
    """
    model = belief.model
    work = workload(model.equipment, asker)
    value = gains(belief)
    bits = dict(zip(model.by_id, value.classes.tolist(), strict=True))
    gone = {*passed_over, *(clue.about for clue in belief.evidence)}
    per_minute = economics.labour(1)
    minutes, missing = work.minutes, work.missing
    scores = {
        name: gain / (per_minute * minutes[name])
        for name, gain in bits.items() if gain > TOO_LITTLE and name not in gone
    }
    worth = {name: bits[name] for name in scores if not missing[name]}
    at_risk = {name: worth[name] for name in work.fragile if name in worth}
    looks = {name: first for name in work.destroys if name in scores and (first := look_first(work, name, at_risk))}
    due = dict(scores)
    for name, first in looks.items():
        due[name] = bits[name] / (per_minute * sum(minutes[n] for n in (name, *first)))
    for name, first in looks.items():
        if name in worth:
            for look in first:
                due[look] = max(due[look], due[name] * (1 + 1e-9))
    order = sorted(scores, key=lambda n: (-due[n], n))
    enough = WORTH_FETCHING * max((scores[n] for n in worth), default=0.0)
    return Ranking(
        model, work, economics, value, scores, looks, tuple(order), tuple(n for n in order if n in worth),
        tuple(n for n in order if n not in worth and scores[n] > enough),
    )


def look_first(work: Workload, job: str, at_risk: dict[str, float], needed: float = 1.0) -> tuple[str, ...]:
    """The open observations worth taking whose evidence a job destroys, most valuable first.

    `at_risk` are the gains of open observations that some job destroys; `needed` is the chance that the
    evidence will be needed after the job.
    """
    lost = [n for n in work.destroys.get(job, ()) if at_risk.get(n, 0.0) * needed > WORTH_TAKING]
    return tuple(sorted(lost, key=lambda n: (-at_risk[n], n)))


def rank_remedies(belief: Belief, ranking: Ranking) -> list[RankedRemedy]:
    """The repairs that may put everything right, best first (ties by id)."""
    model, work, economics = belief.model, ranking.work, ranking.economics
    equipment = model.equipment
    chances = model.fixes @ belief.rows
    total = class_entropy(belief)
    mass = sums_by(model.classes.of_row, belief.rows, len(model.classes.remedies))
    remedies = list(equipment.remedies.values())
    at_risk = {name: ranking.worth(name) for name in ranking.open if name in work.fragile}
    choices = []
    for i in np.argsort(-chances, kind="stable")[:MOST_REMEDIES].tolist():
        remedy, chance = remedies[i], float(chances[i])
        if chance < LIKELY_ENOUGH:
            break
        first = look_first(work, remedy.id, at_risk, 1 - chance)
        minutes = work.minutes[remedy.id]
        if remedy.verify is not None:
            minutes += equipment.observations[remedy.verify].minutes
        price = economics.labour(minutes) + sum(equipment.parts[p].price * n for p, n in remedy.parts)
        paid = price + sum(economics.labour(work.minutes[n]) for n in first)
        drop = max(total - _entropy_after_failure(model, belief.rows, mass, i), 0.0)
        choices.append(RankedRemedy(
            remedy, chance, minutes, price, drop / (paid * max(1 - chance, 1e-3)), work.missing[remedy.id], first,
        ))
    choices.sort(key=lambda c: (-c.score, c.remedy.id))
    return choices


def _entropy_after_failure(model: CompiledModel, rows: Floats, mass: Floats, remedy: int) -> float:
    """(chance of failure) x (class entropy when the rows that the remedy fixes are ruled out), bits."""
    fixed = model.fixes.indices[model.fixes.indptr[remedy]: model.fixes.indptr[remedy + 1]]
    rest = np.maximum(mass - sums_by(model.classes.of_row[fixed], rows[fixed], len(mass)), 0.0)
    kept = rest.sum()
    if kept <= 0:
        return 0.0
    spread = rest * np.log2(np.maximum(rest, 1e-300))
    return float(kept * np.log2(kept) - spread.sum())
