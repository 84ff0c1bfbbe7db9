"""Ask before you drive: what an answer from the site is worth for the kit, in money.

The worth of an answer is the expected fall of carrying and return trips when the kit may follow it (value of
information: R. Howard, "Information value theory", 1966). All questions are weighed against a pool of kits, which
never says too much; the best are then worked out exactly.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from functools import lru_cache

import numpy as np

from graph.belief import Belief, Prior
from graph.context import Asker
from graph.equipment import Observation
from graph.errors import listed
from graph.explain import percent
from graph.hypotheses import Floats, Ints
from graph.kit.answers import KitChange, KitQuestion
from graph.kit.choose import Choice, choose
from graph.kit.needs import NeedTable
from graph.kit.problem import KitProblem, case_problem, likely_needs
from graph.workload import workload

POOLED = 40
"""Repairs whose parts are tried, alone and together with the best kit, when questions are weighed."""
LEAST_WORTH = 0.5
"""Money below which no question is worth the caller's time."""


def questions_of(
    belief: Belief, table: NeedTable, problem: KitProblem, best: Choice, closed: Collection[str], most: int
) -> tuple[KitQuestion, ...]:
    """The questions and looks worth most before the drive; `closed` are those not to be asked."""
    model = belief.model
    missing = workload(model.equipment, Asker(role="site_contact")).missing
    names = [n for n in model.by_id if not missing[n] and n not in closed]
    masses = dict(zip(names, outcome_masses(belief, table.of_set, len(table.needs) + 1, names), strict=True))
    pool = kit_pool(problem, best.loaded, repairs_of(problem, POOLED))
    covered = problem.coverage.of(pool + problem.aboard).astype(np.float64)
    planned = [*likely_needs(table.masses(belief.fault_sets)), -1]
    weighed = sorted(
        ((_pooled_worth(problem, pool, covered, masses[n][planned], best), n) for n in names), reverse=True
    )
    found = [
        _question(model.equipment.observations[name], table, problem, best, masses[name])
        for worth, name in weighed[:most] if worth >= LEAST_WORTH
    ]
    return tuple(sorted(found, key=lambda q: (-q.worth, q.about)))


def outcome_masses(belief: Belief, of_set: Ints, groups: int, names: Sequence[str]) -> list[Floats]:
    """P(group and outcome) of observations (each groups x outcomes); `of_set` (F) is the group of each fault set."""
    model, told = belief.model, _told(belief.prior)
    group = of_set[model.hypotheses.fault_set]
    by_pattern: dict[int, Floats] = {}
    found = []
    for name in names:
        place = model.by_id[name]
        watch = model.watches[place]
        if watch.climate is not None:
            rows = belief.climate_joint() @ watch.chances[watch.climate]
            found.append(np.array([np.bincount(group, column, groups) for column in rows.T]).T)
            continue
        if watch.column not in by_pattern:
            count = model.columns[watch.column].count
            cells = group * count + model.patterns[watch.column]
            masses = np.bincount(cells, belief.rows, groups * count)
            by_pattern[watch.column] = np.asarray(masses, dtype=np.float64).reshape(groups, count)
        found.append(by_pattern[watch.column] @ told[place])
    return found


@lru_cache(maxsize=64)
def _told(prior: Prior) -> tuple[Floats, ...]:
    """P(outcome | pattern) of each observation, with what the unlisted cause predicts; even where it can't be made."""
    found = []
    for watch in prior.model.watches:
        chances = watch.chances.copy()
        unlisted = None if watch.climate is not None else prior.model.columns[watch.column].unlisted
        if unlisted is not None:
            chances[unlisted] = prior.predicted[watch.first: watch.first + chances.shape[1]]
        chances[chances.sum(axis=1) < 0.5] = 1 / chances.shape[1]
        found.append(chances)
    return tuple(found)


def repairs_of(problem: KitProblem, most: int) -> Floats:
    """The parts of the likeliest repairs (ways x I): of each slot the first that can be had."""
    repairs = []
    for _, (need,) in problem.shares[:most]:
        for way in need:
            more = [0.0] * len(problem.items)
            for serves, n in way:
                i = next((i for i in serves if problem.most[i] >= n), None)
                if i is not None:
                    more[i] = max(more[i], n)
            repairs.append(more)
    return np.array(repairs).reshape(-1, len(problem.items))


def kit_pool(problem: KitProblem, loaded: Sequence[float], repairs: Floats) -> Floats:
    """Kits that may suit an answer (B x I): none, one that is `loaded`, either with the parts of one repair.

    Each is there once, in the order of their pieces.
    """
    bases = np.array([[0.0] * len(problem.items), loaded])
    loads = np.maximum(bases[:, None], repairs).reshape(-1, len(problem.items))
    for room, limit in problem.terms.limits:
        loads = loads[[problem.used(room, load) <= limit for load in loads.tolist()]]
    loads = np.concatenate([bases, loads])
    loads = loads[np.lexsort(loads.T[::-1])]
    return np.asarray(loads[np.append(True, (loads[1:] != loads[:-1]).any(axis=1))])


def _pooled_worth(problem: KitProblem, pool: Floats, covered: Floats, joint: Floats, best: Choice) -> float:
    """The money an answer saves if the kit must come from the pool: no more than it really saves.

    `covered` (B x planned needs) are the needs that each kit covers, `joint` (planned needs + 1, outcomes).
    """
    chance = joint.sum(axis=0)
    costs = problem.carrying_each(pool)[:, None] * chance + problem.terms.trip * (chance - covered @ joint[:-1])
    return best.cost - float(costs.min(axis=0).sum())


def _question(asked: Observation, table: NeedTable, problem: KitProblem, best: Choice, joint: Floats) -> KitQuestion:
    """One question with the best kit for each of its answers."""
    cost = finish = price = 0.0
    changes = []
    for outcome, masses in zip(asked.outcomes, joint.T, strict=True):
        chance = float(masses.sum())
        if chance < 1e-6:
            continue
        then = choose(case_problem(table, masses[:-1] / chance, problem.items, problem.terms))
        bring = {item.key: n for item, n in zip(problem.items, then.loaded, strict=True) if n}
        changes.append(KitChange(outcome.id, outcome.title, chance, bring, then.finished))
        cost += chance * then.cost
        finish += chance * then.finished
        price += chance * problem.used("budget", then.loaded)
    changes.sort(key=lambda change: (-change.chance, change.outcome))
    worth = best.cost - cost
    here = [item.key for item, n in zip(problem.items, best.loaded, strict=True) if n]
    return KitQuestion(
        asked.id, asked.kind, asked.title, asked.how, asked.minutes, worth, finish, price, tuple(changes),
        _sentence(asked, worth, finish, best, changes, {i.key: i.title for i in problem.items}, here),
    )


def _sentence(
    asked: Observation, worth: float, finish: float, best: Choice, changes: Sequence[KitChange],
    titles: Mapping[str, str], here: Sequence[str],
) -> str:
    moves = []
    for change in changes[:3]:
        more = [titles[p] for p in change.bring if p not in here]
        less = [titles[p] for p in here if p not in change.bring]
        words = [f"also bring {listed(more, 4)}"] * bool(more) + [f"leave {listed(less, 4)}"] * bool(less)
        moves.append(f"“{change.title}”: {' and '.join(words) or 'the same kit'}")
    lead = f"“{asked.how[0]}”" if asked.kind == "symptom" and asked.how else f"“{asked.title}”"
    return (
        f"Ask before you drive: {lead} The answer is worth {worth:.2f} on average, and the chance to finish goes from "
        f"{percent(best.finished)} to {percent(finish)}. {'; '.join(moves)}."
    )
