"""What an answer from the site is worth, in money: whether somebody has to come at all, and with what.

What a call costs is the cheapest of all ways to end it on what is known: send a technician with some kit, or have the
site contact try a safe remedy first and send a technician if that doesn't help. A question is worth what these costs
fall by on average when the answer is known (value of information: R. Howard, "Information value theory", 1966).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np

from graph.belief import Belief
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.conversation.at_word import at_word
from graph.equipment import Equipment, Remedy
from graph.hypotheses import Floats, Ints
from graph.kit.choose import Choice, choose
from graph.kit.needs import NeedTable, need_table
from graph.kit.plan import kit_problem
from graph.kit.problem import KitProblem, likely_needs
from graph.kit.questions import kit_pool, outcome_masses, repairs_of
from graph.kit.stock import Terms
from graph.signals import Bools
from graph.workload import workload

CALLER_SHARE = 0.5
"""What a minute of the caller costs beside one of the technician. Invented."""
BOTHER = 0.5
"""Money that any question costs: patience. Invented."""
MANAGED = 0.9
"""Chance that a site contact does a safe remedy right. Invented."""
CANT_TELL = 0.25
"""Chance that a caller can't tell. Invented."""
POOLED = 16
"""Repairs whose parts are tried, alone and together with the best kit, when questions are weighed."""
LEAST_LIKELY = 0.002
"""Chance of a remedy's causes from which it is weighed at all."""
LEAST_HELP = 0.1
"""Chance to put the machine right below which nobody is sent to try a remedy."""
CONTACT = Asker(role="site_contact")


@dataclass(frozen=True, slots=True, eq=False)
class Fates:
    """How calls can end, by fault set: the need of its repair, and the safe remedies that would put it right.

    `of_set` (F) are places among K fates; `need` (K) is a place in the need table, one past the last where no kit
    finishes it; `helped` (R x K) says which of the R `remedies` puts it right.
    """

    table: NeedTable
    remedies: tuple[str, ...]
    of_set: Ints
    need: Ints
    helped: Bools


@dataclass(frozen=True, eq=False)
class Stakes:
    """The ways to end a call on what is known: send a technician with a kit of the `pool`, maybe try a remedy before.

    `sent` is what sending somebody with each kit costs in every fate (B x K); `trying` are the remedies that are
    weighed, by their places among the fates' remedies, and what it costs to try each.
    """

    belief: Belief
    fates: Fates
    problem: KitProblem
    pool: Floats
    sent: Floats
    trying: tuple[tuple[int, float], ...]
    economics: Economics

    @cached_property
    def masses(self) -> Floats:
        """P(fate), shape (K,)."""
        return np.asarray(
            np.bincount(self.fates.of_set, self.belief.fault_sets, len(self.fates.need)), dtype=np.float64
        )

    @cached_property
    def now(self) -> float:
        """What the call costs if it ends now."""
        return float(self.weighed(self.masses[:, None]).min())

    @cached_property
    def best(self) -> Choice:
        """The best kit, exactly."""
        return choose(self.problem)

    @cached_property
    def _spared(self) -> tuple[tuple[Ints, Floats], ...]:
        """Of each remedy that is weighed, the fates it helps in and what it spares there with each kit."""
        helped = [np.flatnonzero(self.fates.helped[remedy]) for remedy, _ in self.trying]
        return tuple((fates, MANAGED * self.sent[:, fates]) for fates in helped)

    @cached_property
    def _helped(self) -> Floats:
        """Which of the remedies that are weighed helps in which fate (remedies x K)."""
        return self.fates.helped[[remedy for remedy, _ in self.trying]].astype(np.float64)

    def weighed(self, joint: Floats) -> Floats:
        """The cost of each way with masses (K x outcomes), infinite for too unlikely remedies.

        Shape (1 + remedies, B, outcomes): without a remedy first, then those of `trying`.
        """
        chance, sent = joint.sum(axis=0), self.sent @ joint
        costs = np.full((1 + len(self.trying), *sent.shape), np.inf)
        costs[0] = sent
        fit = self._helped @ joint >= LEAST_HELP * chance
        for place in np.flatnonzero(fit.any(axis=1)).tolist():
            (fates, spared), some = self._spared[place], fit[place]
            trying = self.trying[place][1]
            costs[place + 1][:, some] = trying * chance[some] + sent[:, some] - spared @ joint[fates][:, some]
        return costs

    def worths(self, names: Sequence[str]) -> list[float]:
        """The money that each answer saves on average, what asking costs taken off."""
        if not names:
            return []
        joints = outcome_masses(self.belief, self.fates.of_set, len(self.fates.need), names)
        starts = np.cumsum([0, *(joint.shape[1] for joint in joints[:-1])])
        after = np.add.reduceat(self.weighed(np.concatenate(joints, axis=1)).min(axis=(0, 1)), starts)
        minutes = workload(self.belief.model.equipment, CONTACT).minutes
        return [
            (1 - CANT_TELL) * (self.now - cost) - price_of(minutes[name], self.economics)
            for name, cost in zip(names, after.tolist(), strict=True)
        ]

    def way(self, masses: Floats) -> tuple[dict[str, int], str | None]:
        """The cheapest way for masses of the fates (K): the kit by part, and the safe remedy to try before that."""
        costs = self.weighed(masses[:, None])[..., 0]
        remedy, kit = divmod(int(np.argmin(costs)), len(self.pool))
        pieces = {item.key: int(n) for item, n in zip(self.problem.items, self.pool[kit], strict=True) if n}
        return pieces, self.fates.remedies[self.trying[remedy - 1][0]] if remedy else None

    def chance_of(self, remedy: str) -> float:
        """The chance that a safe remedy puts the machine right, done right."""
        return float(self.masses[self.fates.helped[self.fates.remedies.index(remedy)]].sum())


def price_of(minutes: float, economics: Economics) -> float:
    """What it costs to have something looked at or tried: the caller's minutes, and patience."""
    return BOTHER + CALLER_SHARE * economics.labour(minutes)


def safe_remedies(equipment: Equipment) -> tuple[Remedy, ...]:
    """What a site contact may do by themselves: no hazard, no licence, no part, no cover to open."""
    missing = workload(equipment, CONTACT).missing
    return tuple(
        r for r in equipment.remedies.values()
        if r.role == "site_contact" and not missing[r.id] and not r.parts and r.licence is None
    )


@lru_cache(maxsize=64)
def fates_of(model: CompiledModel, asker: Asker) -> Fates:
    """The fates of a model's calls. While a site contact asks, whoever is sent is taken to have every licence."""
    table = need_table(model, asker)
    remedies = safe_remedies(model.equipment)
    modes, hypotheses = model.equipment.modes, model.hypotheses
    fixes = np.array([[r.id in modes[m].remedies for m in hypotheses.modes] for r in remedies], dtype=bool)
    fixes = fixes.reshape(len(remedies), len(hypotheses.modes))
    padded = np.concatenate([fixes, np.ones((len(remedies), 1), dtype=bool)], axis=1)
    members = hypotheses.members[hypotheses.examples]
    helped = padded[:, members].all(axis=2) & (members[:, 0] >= 0) & ~hypotheses.unlisted[hypotheses.examples]
    keys = np.column_stack([table.of_set, helped.T.astype(np.int64)])
    distinct, of_set = np.unique(keys, axis=0, return_inverse=True)
    return Fates(
        table, tuple(r.id for r in remedies), np.asarray(of_set, dtype=np.int64).reshape(-1),
        np.asarray(distinct[:, 0], dtype=np.int64), distinct[:, 1:].astype(bool).T,
    )


def stakes_of(belief: Belief, asker: Asker, economics: Economics, tried: frozenset[str] = frozenset()) -> Stakes:
    """What is at stake on what is known; `tried` are the remedies that need not be tried again.

    A remedy that hardly helps a caller who is taken at their word is no way to end the call.
    """
    model = belief.model
    fates = fates_of(model, replace(asker, parts=None, instruments=None, unit_state=()))
    problem = kit_problem(belief, asker, Terms.of(economics))
    pool = _kits(problem)
    covered = np.zeros((len(pool), len(fates.table.needs) + 1))
    covered[:, likely_needs(fates.table.masses(belief.fault_sets))] = problem.coverage.of(pool + problem.aboard)
    carrying = problem.carrying_each(pool)[:, None]
    sent = economics.return_trip + carrying + problem.terms.trip * (1 - covered[:, fates.need])
    minutes = workload(model.equipment, CONTACT).minutes
    likely = fates.helped @ np.bincount(fates.of_set, at_word(belief).fault_sets, len(fates.need))
    trying = tuple(
        (place, price_of(minutes[name], economics)) for place, name in enumerate(fates.remedies)
        if name not in tried and likely[place] >= LEAST_LIKELY
    )
    return Stakes(belief, fates, problem, pool, sent, trying, economics)


def _kits(problem: KitProblem) -> Floats:
    """Kits to choose from (B x I): those around a kit that is made better, repair by repair, as long as that pays."""
    chances = np.array([chance for chance, _ in problem.shares])
    repairs = repairs_of(problem, POOLED)
    loaded, least = [0.0] * len(problem.items), np.inf
    while True:
        pool = kit_pool(problem, loaded, repairs)
        finished = problem.coverage.of(pool + problem.aboard) @ chances
        costs = problem.carrying_each(pool) - problem.terms.trip * finished
        place = int(np.argmin(costs))
        if costs[place] >= least - 1e-9:
            return pool
        loaded, least = pool[place].tolist(), float(costs[place])


def askable(belief: Belief, closed: frozenset[str]) -> list[str]:
    """The observations that a site contact may make safely and that were not made or passed over."""
    missing = workload(belief.model.equipment, CONTACT).missing
    observations = belief.model.equipment.observations
    return [n for n in belief.model.by_id if not missing[n] and n not in closed and not observations[n].hazards]
