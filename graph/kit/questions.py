"""Ask before you drive: what an answer from the site is worth for the kit, in money.

The worth of an answer is the expected fall of carrying and return trips when the kit may follow it (value of
information: R. Howard, "Information value theory", 1966). All questions are weighed against a pool of kits, which
never says too much; the best are then worked out exactly.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

import numpy as np

from graph.belief import Belief
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
    pool = kit_pool(problem, best.loaded)
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
    model = belief.model
    group = of_set[model.hypotheses.fault_set]
    by_pattern: dict[int, Floats] = {}
    found = []
    for name in names:
        watch = model.watches[model.by_id[name]]
        if watch.climate is not None:
            rows = belief.climate_joint() @ watch.chances[watch.climate]
            found.append(np.array([np.bincount(group, column, groups) for column in rows.T]).T)
            continue
        if watch.column not in by_pattern:
            by_pattern[watch.column] = _pattern_masses(belief, group, groups, watch.column)
        chances, unlisted = watch.chances.copy(), model.columns[watch.column].unlisted
        if unlisted is not None:
            chances[unlisted] = belief.prior.predicted[watch.first: watch.first + chances.shape[1]]
        chances[chances.sum(axis=1) < 0.5] = 1 / chances.shape[1]
        found.append(by_pattern[watch.column] @ chances)
    return found


def _pattern_masses(belief: Belief, group: Ints, groups: int, column: int) -> Floats:
    """P(group and pattern of a column), groups x patterns; `group` (N) is that of each row."""
    model = belief.model
    count = model.columns[column].count
    cells = group * count
    cells += model.patterns[column]
    return np.asarray(np.bincount(cells, belief.rows, groups * count), dtype=np.float64).reshape(groups, count)


def kit_pool(problem: KitProblem, loaded: Sequence[float], most: int = POOLED) -> Floats:
    """Kits that may suit an answer (B x I): none, one that is `loaded`, either with the parts of one likely repair."""
    none, repairs = [0.0] * len(problem.items), []
    for _, (need,) in problem.shares[:most]:
        for way in need:
            more = list(none)
            for serves, n in way:
                i = next((i for i in serves if problem.most[i] >= n), None)
                if i is not None:
                    more[i] = max(more[i], n)
            repairs.append(more)
    bases = np.array([none, loaded], dtype=np.float64)
    loads = np.maximum(bases[:, None], np.array(repairs).reshape(-1, len(none))).reshape(-1, len(none))
    for room, limit in problem.terms.limits:
        loads = loads[[problem.used(room, load) <= limit for load in loads.tolist()]]
    return np.unique(np.concatenate([bases, loads]), axis=0)


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
