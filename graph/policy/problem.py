"""The decision that is left, as small dense arrays: likely rows, open tests and repairs, what everything costs.

Rows that nothing tells apart are one. A problem is *complete* when it is the whole decision: no row, test or
repair of the model that could matter was left out.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from graph.belief import Belief
from graph.compile import CompiledModel
from graph.evidence import clean_runs
from graph.hypotheses import Floats, Ints, sums_by
from graph.policy.outlook import Outlook, outlook
from graph.policy.ranking import Ranking
from graph.policy.worktable import WorkTable, work_table
from graph.signals import Bools

NEGLIGIBLE = 1e-12
"""Chance of a row below which it is left out even of a complete problem."""


@dataclass(frozen=True, slots=True, eq=False)
class Size:
    """How much of the model a problem keeps at most."""

    rows: int = 64
    mass: float = 0.995
    tests: int = 24
    remedies: int = 16


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """H rows, T tests with O outcomes in all, R repairs; jobs are the tests, then the repairs (A).

    `weight` (H) is the chance of each row now. `chances` (O x H) is P(outcome | row), the outcomes of test t
    from `starts[t]` on, `owner` (O) the test of each. `left` (R x H) is the row that a repair leaves, `runs` (H)
    the chance that a trial run is clean. `ends` (H) is the money of ending the visit, `least` (H) the bound of
    `Outlook`; `classes` (H) the remedy class.
    `prices` and `after` (U x A) are by state of the unit, `spoils` (U x A x T) the tests whose evidence is lost.
    `jobs` are names. `kept` are the model's rows that went into the problem, `group` says into which of its rows each.
    """

    kept: Ints
    group: Ints
    jobs: tuple[str, ...]
    weight: Floats
    chances: Floats
    starts: Ints
    owner: Ints
    left: Ints
    runs: Floats
    ends: Floats
    least: Floats
    classes: Ints
    prices: Floats
    after: Ints
    spoils: Bools
    complete: bool

    @property
    def tests(self) -> int:
        """The number of tests T."""
        return len(self.starts)


def problem_of(belief: Belief, ranking: Ranking, most: Size, extra: Iterable[str] = ()) -> Problem:
    """The problem of one case; `extra` are tests to keep whatever they score and whoever may make them."""
    model = belief.model
    table = work_table(model, ranking.asker, ranking.economics)
    prospect = outlook(model, ranking.asker, ranking.economics)
    remedies = _remedies(belief, table, most.remedies)
    rows, all_rows = _rows(belief, prospect, remedies, most)
    tests, all_tests = _tests(model, ranking, rows, most.tests, extra)
    chances, counts, always = _chances(belief, tests, rows)
    left = np.searchsorted(rows, prospect.left[remedies][:, rows])
    runs = clean_runs(model)[rows]
    traits = np.column_stack([
        chances.T, runs, prospect.ends[rows], prospect.least[rows], model.classes.of_row[rows],
    ])
    first, group = merged(traits, left)
    jobs = np.concatenate([tests, table.observations + remedies])
    return Problem(
        kept=rows,
        group=group,
        jobs=tuple(table.jobs[j] for j in jobs.tolist()),
        weight=sums_by(group, belief.rows[rows], len(first)),
        chances=np.ascontiguousarray(chances[:, first]),
        starts=np.cumsum([0, *counts[:-1]], dtype=np.int64)[: len(counts)],
        owner=np.repeat(np.arange(len(tests)), counts),
        left=group[left[:, first]],
        runs=runs[first],
        ends=prospect.ends[rows][first],
        least=prospect.least[rows][first],
        classes=np.unique(model.classes.of_row[rows][first], return_inverse=True)[1].reshape(-1),
        prices=table.prices[:, jobs],
        after=table.after[:, jobs],
        spoils=_spoils(table, tests, jobs),
        complete=(
            all_rows and all_tests and always and len(remedies) == _useful(belief, table).sum()
        ),
    )


def _useful(belief: Belief, table: WorkTable) -> Bools:
    """The repairs (R) that the asker can make and that some possible row calls for; none is worth doing twice."""
    model = belief.model
    names = model.equipment.remedies
    able = table.able[table.observations:] & np.array([n not in belief.done for n in names], dtype=bool)
    present = model.marginals["modes"] @ belief.rows > NEGLIGIBLE
    wanted = {r for m in np.flatnonzero(present) for r in model.equipment.modes[model.hypotheses.modes[m]].remedies}
    return np.asarray(able & np.array([n in wanted for n in names], dtype=bool))


def _remedies(belief: Belief, table: WorkTable, most: int) -> Ints:
    """The repairs worth thinking of, likeliest first."""
    useful = np.flatnonzero(_useful(belief, table))
    chance = (belief.model.fixes @ belief.rows)[useful]
    return np.asarray(useful[np.argsort(-chance, kind="stable")][:most], dtype=np.int64)


def _rows(belief: Belief, prospect: Outlook, remedies: Ints, most: Size) -> tuple[Ints, bool]:
    """The likely rows and all that repairs leave of them, ascending; whether these are all."""
    mass = belief.rows
    possible = np.flatnonzero(mass > NEGLIGIBLE)
    if len(possible) > most.rows:
        ranked = possible[np.argsort(-mass[possible], kind="stable")][: most.rows]
        enough = int(np.searchsorted(np.cumsum(mass[ranked]), most.mass)) + 1
        kept = ranked[:enough]
    else:
        kept = possible
    rows = np.unique(kept)
    while True:
        wider = np.unique(np.concatenate([rows, prospect.left[remedies][:, rows].ravel()]))
        if len(wider) == len(rows):
            return rows, len(kept) == len(possible)
        rows = wider


def _tests(
    model: CompiledModel, ranking: Ranking, rows: Ints, most: int, extra: Iterable[str]
) -> tuple[Ints, bool]:
    """The open tests worth thinking of, best first, and whether none that tells anything was left out."""
    candidates = [model.by_id[n] for n in ranking.candidates()]
    telling = [t for t in candidates if _tells(model, t, rows)]
    climatic = any(model.watches[t].climate is not None for t in candidates)
    more = [t for t in (model.by_id[n] for n in extra) if model.watches[t].climate is None]
    wanted = list(dict.fromkeys([*telling[:most], *more]))
    return np.array(wanted, dtype=np.int64), len(telling) <= most and not climatic


def _tells(model: CompiledModel, test: int, rows: Ints) -> bool:
    """Whether a test can tell any of the rows apart."""
    watch = model.watches[test]
    if watch.climate is not None:
        return False
    kinds = watch.alike[model.patterns[watch.column][rows]]
    return bool((kinds != kinds[0]).any())


def _chances(belief: Belief, tests: Ints, rows: Ints) -> tuple[Floats, list[int], bool]:
    """P(outcome | row), tests below one another, the number of outcomes of each, and whether all can always be made.

    Where the fitted option of a row does not allow a test, it has one outcome more: it can't be made.
    """
    model = belief.model
    unlisted = model.hypotheses.unlisted[rows]
    blocks: list[Floats] = [np.zeros((0, len(rows)))]
    counts, always = [], True
    for test in tests.tolist():
        watch = model.watches[test]
        block = watch.chances[model.patterns[watch.column][rows]].T.copy()
        if model.columns[watch.column].unlisted is not None:
            predicted = belief.prior.predicted[watch.first: watch.first + len(block)]
            block[:, unlisted] = predicted[:, None]
        absent = block.sum(axis=0) < 0.5
        if absent.any():
            block, always = np.vstack([block, absent]), False
        blocks.append(block)
        counts.append(len(block))
    return np.concatenate(blocks), counts, always


def merged(traits: Floats, left: Ints) -> tuple[Ints, Ints]:
    """Group rows with the same traits (H x n) whose repairs (R x H) lead to the same groups again.

    Returns a row of each group and the group of each row (H).
    """
    _, first, group = np.unique(np.rint(traits * 1e12), axis=0, return_index=True, return_inverse=True)
    while True:
        group = group.reshape(-1)
        key = np.column_stack([group, *(group[row] for row in left)])
        _, finer, refined = np.unique(key, axis=0, return_index=True, return_inverse=True)
        if len(finer) == len(first):
            return np.asarray(first, dtype=np.int64), np.asarray(group, dtype=np.int64)
        first, group = finer, refined


def _spoils(table: WorkTable, tests: Ints, jobs: Ints) -> Bools:
    """Which of the tests lose their evidence by each of the jobs, U x A x T."""
    place = {test: i for i, test in enumerate(table.fragile.tolist())}
    spoils = np.zeros((len(table.states), len(jobs), len(tests)), dtype=bool)
    for i, test in enumerate(tests.tolist()):
        if test in place:
            spoils[:, :, i] = table.spoils[:, jobs, place[test]]
    return spoils
