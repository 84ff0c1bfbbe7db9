"""One case's posterior: what is known of the conditions, every finding, what is left to find.

All sums are in log space and normalised in `posterior` alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from graph.columns import Matrix
from graph.compile import CompiledModel, MarginalKind
from graph.errors import UnknownName
from graph.evidence import (
    DONE,
    FLOOR,
    IMPOSSIBLE,
    LOG_FLOOR,
    Evidence,
    Finding,
    observed,
    removed_modes,
    verified,
)
from graph.hypotheses import Floats, Ints, sums_by
from graph.outcomes import Outcomes


@dataclass(frozen=True, slots=True, eq=False)
class Prior:
    """Before any finding, with some conditions known.

    `table` (N, R) adds up to 1, `given_row` (R, N) is P(climate | row), `usual` the chance of each failure
    mode (M); `masses` (P) are the pattern masses of the listed causes;
    `predicted` (outcomes) is what the unlisted cause predicts, and `log_chances` those of `Outcomes` with the
    unlisted cause put in; `predicted_cells` and `surprise` (observations) are its chances of cells and their entropy.
    """

    model: CompiledModel
    known: tuple[tuple[str, str], ...]
    table: Floats
    given_row: Floats
    usual: Floats
    log_rows: Floats
    masses: Floats
    predicted: Floats
    log_chances: Floats
    predicted_cells: Floats
    surprise: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """The posterior of one case.

    `before` (N) is over what was wrong when the case began, `rows` (N) over what is left now. `left` maps
    rows (None: no remedy yet).
    """

    prior: Prior
    evidence: tuple[Evidence, ...]
    done: tuple[str, ...]
    left: Ints | None
    log_rows: Floats
    before: Floats
    rows: Floats

    @property
    def model(self) -> CompiledModel:
        """The compiled model it is a belief about."""
        return self.prior.model

    @property
    def pooled(self) -> Floats:
        """P(fault set left) and P(row left), as `Hypotheses.pooled`."""
        return _pooled(self)

    @property
    def fault_sets(self) -> Floats:
        """P(fault set left), shape (F,)."""
        return _pooled(self)[: self.model.hypotheses.fault_sets]

    def scenes(self) -> Floats:
        """P(scene | findings), shape (S,): rows stand scene by scene, the unlisted ones after all."""
        starts = _scene_starts(self.model)
        count = len(starts)
        return np.asarray(np.add.reduceat(self.before[:-count], starts) + self.before[-count:])

    @property
    def scene(self) -> int:
        """The likeliest joint state of the conditions that signals and tests depend on."""
        return int(self.scenes().argmax())

    def chances_of(self, kind: MarginalKind) -> Floats:
        """As `marginals_of`, in the order of the model's names."""
        return _marginals(self)[_stacked(self.model)[1][kind]]

    def marginals_of(self, kind: MarginalKind) -> dict[str, float]:
        """P(present, not right, called for as the usual repair, needed), by name."""
        return dict(zip(self.model.marginal_names[kind], self.chances_of(kind).tolist(), strict=True))

    def likely(self, kind: MarginalKind, least: float) -> list[tuple[str, float]]:
        """Names and chances from `least` on, likeliest first (ties, to twelve digits, by name)."""
        chances = self.chances_of(kind)
        order = (-np.rint(chances * 1e12)).tolist()
        rows = zip(order, self.model.marginal_names[kind], chances.tolist(), strict=True)
        return [(name, chance) for _, name, chance in sorted([row for row in rows if row[2] >= least])]

    def climate_joint(self) -> Floats:
        """P(what is left, climate | findings), shape (N, R)."""
        table = weighted_by_climate(self.prior, self.evidence)
        mass = table.sum(axis=1)
        joint: Floats = table * np.divide(self.before, mass, out=np.zeros_like(mass), where=mass > 0)[:, None]
        if self.left is None:
            return joint
        left = self.left
        return np.array([sums_by(left, column, len(joint)) for column in joint.T]).T

    def climates(self) -> Floats:
        """P(climate | findings), shape (R,)."""
        if climate_weights(self.evidence) is None:
            return np.asarray(self.prior.given_row @ self.before)
        table = weighted_by_climate(self.prior, self.evidence)
        mass = table.sum(axis=1)
        return np.asarray(np.divide(self.before, mass, out=np.zeros_like(mass), where=mass > 0) @ table)

    def conditions(self) -> dict[str, Floats]:
        """P(state | findings) of each condition, in the order of its states."""
        equipment, hypotheses = self.model.equipment, self.model.hypotheses
        known = dict(self.prior.known)
        shares = {
            name: np.array(c.shares if name not in known else [float(s == known[name]) for s in c.states])
            for name, c in equipment.conditions.items()
        }
        for joint, mass in ((hypotheses.scenes, self.scenes()), (hypotheses.climates, self.climates())):
            for i, name in enumerate(joint.names):
                shares[name] = sums_by(joint.states[:, i], mass, len(equipment.conditions[name].states))
        return shares

    @property
    def unlisted(self) -> float:
        """P(the cause is not in this graph)."""
        return float(self.rows[-len(self.model.hypotheses.scenes.shares):].sum())

    @property
    def nothing_left(self) -> float:
        """P(no failure mode is present): nothing was wrong, or all of it has been put right."""
        return float(self.rows[_without_fault(self.model)].sum())


@lru_cache(maxsize=4)
def _pooled(belief: Belief) -> Floats:
    """The pooled masses of one belief; several parts of an answer ask for them, and for its marginals."""
    return belief.model.hypotheses.pooled(belief.rows)


@lru_cache(maxsize=4)
def _marginals(belief: Belief) -> Floats:
    """All marginals of one belief, in one product."""
    return np.asarray(_stacked(belief.model)[0] @ belief.fault_sets, dtype=np.float64)


@lru_cache(maxsize=64)
def _stacked(model: CompiledModel) -> tuple[Matrix, dict[MarginalKind, slice]]:
    """The matrices of all kinds below one another, by fault set, and where each kind stands."""
    from scipy.sparse import csr_array, vstack

    ends = np.cumsum([0, *(m.shape[0] for m in model.marginals.values())]).tolist()
    places = {kind: slice(*span) for kind, span in zip(model.marginals, pairwise(ends), strict=True)}
    by_set = csr_array(vstack(list(model.marginals.values())))[:, model.hypotheses.examples]
    by_set.sort_indices()
    return by_set, places


@lru_cache(maxsize=64)
def _scene_starts(model: CompiledModel) -> Ints:
    """The first row of each scene."""
    hypotheses = model.hypotheses
    listed = hypotheses.scene[~hypotheses.unlisted]
    return np.asarray(np.searchsorted(listed, np.arange(len(hypotheses.scenes.shares))), dtype=np.int64)


@lru_cache(maxsize=64)
def _without_fault(model: CompiledModel) -> Ints:
    """The rows in which nothing is wrong."""
    return np.flatnonzero((model.hypotheses.members[:, 0] < 0) & ~model.hypotheses.unlisted)


def summed(model: CompiledModel, pooled: Floats) -> Floats:
    """All sums that the gains are made of: the masses of all patterns (P), a zero, and those of `Classes`."""
    sums = model.sums @ pooled
    if len(model.columns):
        total = np.add.reduceat(sums[: model.spare], model.column_starts)
        sums[model.normal_patterns] = np.maximum(pooled[-model.rows:].sum() - total, 0.0)
    return np.asarray(sums, dtype=np.float64)


@lru_cache(maxsize=64)
def prior_of(model: CompiledModel, known: tuple[tuple[str, str], ...] = ()) -> Prior:
    """The prior with known conditions, kept for the next caller.

    Raises UnknownName for a condition or state the graph doesn't have.
    """
    equipment, hypotheses = model.equipment, model.hypotheses
    table = hypotheses.prior
    for name, state in known:
        if name not in equipment.conditions:
            raise UnknownName("condition", name, equipment.conditions, pointer="/conditions")
        if state not in equipment.conditions[name].states:
            states = equipment.conditions[name].states
            raise UnknownName(f"state of {name}", state, states, pointer=f"/conditions/{name}")
        need = ((name, (state,)),)
        table = table * hypotheses.scenes.matching(equipment, need)[hypotheses.scene][:, None]
        table = table * hypotheses.climates.matching(equipment, need)[None, :]
    total = table.sum()
    table = table / total if total > 0 else np.full_like(table, 1 / table.size)
    rows = table.sum(axis=1)
    masses = summed(model, hypotheses.pooled(np.where(hypotheses.unlisted, 0.0, rows)))[: model.spare + 1]
    predicted, share = _told_by_unlisted(model.outcomes, masses)
    cells, _ = _told_by_unlisted(model.cells, masses)
    log_chances = model.outcomes.log_chances.copy()
    log_chances[model.outcomes.log_unlisted] = np.log(np.maximum(share, FLOOR))
    surprise = model.cells.sums @ (-cells * np.log(np.maximum(cells, FLOOR)))
    with np.errstate(divide="ignore"):
        log_rows = np.log(rows)
    given_row = np.divide(table.T, rows, out=np.zeros(table.T.shape), where=rows > 0)
    usual = np.asarray(model.marginals["modes"] @ rows, dtype=np.float64)
    return Prior(
        model, known, table, given_row, usual, log_rows, masses, predicted, log_chances, cells, surprise,
    )


def _told_by_unlisted(outcomes: Outcomes, masses: Floats) -> tuple[Floats, Floats]:
    """What the unlisted cause predicts, the same as the others do; made whole and above the floor, and as it is."""
    if not len(outcomes.starts):
        return np.zeros(0), np.zeros(0)
    told = (outcomes.told @ masses)[: len(outcomes.owner)]
    reach = np.add.reduceat(told, outcomes.starts)[outcomes.owner]
    possible = reach > IMPOSSIBLE
    share = told / np.where(possible, reach, 1.0)
    predicted = np.maximum(np.where(possible, share, 1 / np.bincount(outcomes.owner)[outcomes.owner]), FLOOR)
    predicted /= np.add.reduceat(predicted, outcomes.starts)[outcomes.owner]
    return predicted, share


def gather(prior: Prior, findings: Sequence[Finding]) -> tuple[list[Evidence], tuple[str, ...], Ints | None]:
    """Turn findings, in their order, into independent clues.

    Returns the clues, the remedies carried out, and what they leave of each row.
    """
    model = prior.model
    sessions: dict[tuple[str, int], list[Finding]] = {}
    lefts: list[Ints | None] = [None]
    done: list[str] = []
    clues: dict[tuple[str, int], Evidence] = {}
    removed = np.zeros(len(model.hypotheses.modes), dtype=bool)
    for found in findings:
        if not found.counts:
            continue
        if found.about in model.equipment.remedies:
            remedy = model.equipment.remedies[found.about]
            removed = removed | removed_modes(model, remedy)
            left = model.hypotheses.without(removed)
            lefts.append(left)
            done.append(remedy.id)
            if found.counts[0][0] != DONE:
                clues[remedy.id, len(done)] = verified(model, remedy, found.counts[0][0], left)
            continue
        key = (found.about, len(done))
        sessions.setdefault(key, []).append(found)
        watch = model.watches[model.by_id[found.about]]
        clues[key] = observed(model, watch, sessions[key], prior.log_chances, prior.masses, lefts[-1])
    return list(clues.values()), tuple(done), lefts[-1]


def posterior(prior: Prior, clues: Sequence[Evidence]) -> tuple[Floats, Floats]:
    """Log joint (N) and P(row | clues) (N). The one place that normalises."""
    if climate_weights(clues) is None:
        log_rows = prior.log_rows.copy()
    else:
        with np.errstate(divide="ignore"):
            log_rows = np.log(weighted_by_climate(prior, clues).sum(axis=1))
    for clue in clues:
        log_rows += clue.rows
    top = float(log_rows.max())
    if top == -np.inf:
        unlisted = prior.model.hypotheses.unlisted
        return log_rows, unlisted / unlisted.sum()
    rows = log_rows - top
    np.exp(rows, out=rows)
    rows /= rows.sum()
    return log_rows, rows


def climate_weights(clues: Sequence[Evidence]) -> Floats | None:
    """The likelihood of each climate (R), or None where no clue speaks of rates."""
    speaking = [c.climates for c in clues if c.climates is not None]
    return np.exp(np.sum(speaking, axis=0)) if speaking else None


def weighted_by_climate(prior: Prior, clues: Sequence[Evidence]) -> Floats:
    """The prior table times the likelihood of each climate, shape (N, R)."""
    weights = climate_weights(clues)
    if weights is None:
        return prior.table
    speaking = [np.maximum(c.climates, LOG_FLOOR) for c in clues if c.climates is not None]
    unlisted = prior.model.hypotheses.unlisted
    table: Floats = prior.table * weights
    table[unlisted] = prior.table[unlisted] * np.exp(np.sum(speaking, axis=0))
    return table


def believe(model: CompiledModel, findings: Sequence[Finding] = (), known: Mapping[str, str] | None = None) -> Belief:
    """The posterior given findings, in their order, and known conditions.

    A pure function: the same input gives the same floats. Raises UnknownName for conditions.
    """
    prior = prior_of(model, tuple(sorted((known or {}).items())))
    clues, done, left = gather(prior, findings)
    log_rows, before = posterior(prior, clues)
    rows = before if left is None else sums_by(left, before, len(before))
    return Belief(prior, tuple(clues), done, left, log_rows, before, rows)
