"""Why: the weight of each finding, the path a fault takes, what each outcome would change.

The weight of evidence is I. J. Good's, in decibans: ten times the log10 of the factor by which a
finding multiplies the odds of a suspect, all other findings staying as they are (Good, *Probability
and the Weighing of Evidence*, 1950).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate
from math import log10

import numpy as np
from numpy.typing import NDArray

from graph.answers import EvidenceWeight, OutcomeEffect, PathStep, SignalPath, SuspectChance
from graph.belief import Belief, posterior
from graph.columns import Patterns, Watch
from graph.compile import CompiledModel
from graph.equipment import Equipment
from graph.hypotheses import Floats, Ints, sums_by
from graph.policy.ranking import RankedTest
from graph.structure import fault_path

MOST_DECIBANS = 100.0
WORTH_NAMING = 0.01
"""Chance from which a suspect, component or part is named."""
WEIGHTY = 1.0
"""Decibans from which a finding is said to speak for or against."""

_TINY = 1e-12
_PERCENT = tuple(f"{n} %" for n in range(101))


def percent(chance: float) -> str:
    """A chance for people: never 0 % or 100 % unless it is."""
    if chance <= 0:
        return "0 %"
    if chance < 0.01:
        return "under 1 %"
    return "over 99 %" if chance > 0.99 else _PERCENT[round(chance * 100)]


def _without_each(belief: Belief) -> Iterator[Floats]:
    """For each clue, the mass of each row left (N) with that clue withdrawn, not normalised."""
    prior, clues = belief.prior, belief.evidence
    for i, clue in enumerate(clues):
        least = clue.rows.min()
        if clue.climates is None and least > -np.inf:
            rows = least - clue.rows
            np.exp(rows, out=rows)
            rows *= belief.before
        else:
            rows = posterior(prior, [*clues[:i], *clues[i + 1:]])[1]
        yield rows if belief.left is None else sums_by(belief.left, rows, len(rows))


def chances_without_each(belief: Belief, modes: Sequence[int]) -> list[list[float]]:
    """For each clue, P(mode left) of some modes (index), that may be present, with that clue withdrawn."""
    if not modes:
        return [[] for _ in belief.evidence]
    matrix = belief.model.marginals["modes"]
    having = [matrix.indices[matrix.indptr[mode]: matrix.indptr[mode + 1]] for mode in modes]
    starts, picked = [0, *accumulate(map(len, having[:-1]))], np.concatenate(having, dtype=np.int64)
    return [
        (np.add.reduceat(mass[picked], starts) / (mass.sum() or 1.0)).tolist() for mass in _without_each(belief)
    ]


def decibans(with_it: float, without_it: float) -> float:
    """The weight of evidence between two probabilities, within the cap."""
    weight = 10 * log10(_odds(with_it) / _odds(without_it))
    return min(max(weight, -MOST_DECIBANS), MOST_DECIBANS)


def _odds(chance: float) -> float:
    chance = min(max(chance, _TINY), 1 - _TINY)
    return chance / (1 - chance)


def evidence_weights(
    belief: Belief, modes: Sequence[int], chances: Sequence[float]
) -> list[tuple[EvidenceWeight, ...]]:
    """For each mode (index, present chance), the weight of every clue, strongest first."""
    clues = belief.evidence
    withdrawn = chances_without_each(belief, modes)
    answers = []
    for place, (mode, chance) in enumerate(zip(modes, chances, strict=True)):
        title = mode_titles(belief.model.equipment)[mode]
        weights = []
        for clue, other in zip(clues, withdrawn, strict=True):
            weight = decibans(chance, other[place])
            sentence = _weight_sentence(clue.said, title, weight)
            weights.append(EvidenceWeight(clue.about, clue.said, round(weight, 2), sentence))
        weights.sort(key=lambda w: (-abs(w.decibans), w.about))
        answers.append(tuple(weights))
    return answers


def _weight_sentence(said: str, title: str, weight: float) -> str:
    factor = 10 ** (abs(weight) / 10)
    size = "more than 1000" if factor > 1000 else f"about {factor:.1f}" if factor < 10 else f"about {factor:.0f}"
    if abs(weight) < WEIGHTY:
        return f"“{said}” says little about “{title}”."
    side = "for" if weight > 0 else "against"
    return f"“{said}” speaks {side} “{title}”: odds {size} times {'higher' if weight > 0 else 'lower'}."


def signal_paths(
    model: CompiledModel, mode: str, scene: int, weights: Sequence[EvidenceWeight], most: int = 2
) -> tuple[SignalPath, ...]:
    """How a suspect leads to the findings that speak for it most, in one state of the conditions."""
    paths: list[SignalPath] = []
    for weight in weights:
        if weight.decibans >= WEIGHTY and len(paths) < most:
            path = _signal_path(model, mode, scene, weight.about, weight.said)
            if path is not None:
                paths.append(path)
    return tuple(paths)


@lru_cache(maxsize=20_000)
def _signal_path(model: CompiledModel, mode: str, scene: int, about: str, said: str) -> SignalPath | None:
    """The way from a failure mode to one finding, None where it doesn't lead there."""
    equipment = model.equipment
    if about not in equipment.observations:
        return None
    steps = fault_path(model, mode, equipment.observations[about].reveals, scene)
    if not steps:
        return None
    shown = tuple(PathStep(n, equipment.signals[n].title, equipment.signals[n].titles[s]) for n, s in steps)
    links = [equipment.mode_title(mode), *(f"{s.title}: {s.state}" for s in shown), f"“{said}”"]
    return SignalPath(about, shown, " → ".join(links))


def outcome_effects(
    belief: Belief, choices: Sequence[RankedTest], outcomes: Floats, most: int = 2
) -> list[tuple[OutcomeEffect, ...]]:
    """For each choice, what each of its outcomes would leave as suspects.

    `outcomes` are the flat outcome chances of `gain.gains`.
    """
    if not choices:
        return []
    model = belief.model
    names, titles = model.hypotheses.modes, mode_titles(model.equipment)
    watches = [model.watches[choice.index] for choice in choices]
    chances = np.concatenate([outcomes[w.first: w.first + w.chances.shape[1]] for w in watches])
    spread = _Spread(belief)
    given = np.concatenate([spread.after(w) for w in watches], axis=1) / np.maximum(chances, 1e-300)
    told = zip(chances.tolist(), given[-1].tolist(), _leading(given[:-1], most), strict=True)
    answers = []
    for choice in choices:
        effects = []
        # `told` runs through the outcomes of all choices, so each takes only its own
        for outcome, (chance, unlisted, modes) in zip(choice.observation.outcomes, told, strict=False):
            suspects = tuple([SuspectChance(names[m], titles[m], s) for m, s in modes if s > WORTH_NAMING])
            sentence = _effect_sentence(outcome.title, chance, suspects, unlisted)
            effects.append(OutcomeEffect(outcome.id, outcome.title, chance, suspects, sentence))
        answers.append(tuple(effects))
    return answers


def _leading(table: Floats, most: int) -> list[tuple[tuple[int, float], ...]]:
    """The places and values of the largest numbers of each column, largest first (ties by place)."""
    rest, columns = table.copy(), np.arange(table.shape[1])
    ranks = []
    for _ in range(min(most, len(table))):
        place = rest.argmax(axis=0)
        ranks.append(zip(place.tolist(), rest[place, columns].tolist(), strict=True))
        rest[place, columns] = -1
    return list(zip(*ranks, strict=True))


@lru_cache(maxsize=64)
def mode_titles(equipment: Equipment) -> tuple[str, ...]:
    """`Component: mode` of every failure mode, in the order of the graph."""
    return tuple(equipment.mode_title(m) for m in equipment.modes)


@dataclass(frozen=True, slots=True, eq=False)
class _Pool:
    """The patterns by fault set, for columns to which the scene makes no difference (`same`).

    `patterns` (C, F) are those of the fault sets, (`modes`, `sets`) the pairs of a mode and a set that has it.
    """

    patterns: Patterns
    same: NDArray[np.bool_]
    modes: Ints
    sets: Ints


@lru_cache(maxsize=64)
def _pool(model: CompiledModel) -> _Pool:
    of_row, count = model.hypotheses.fault_set, model.hypotheses.fault_sets
    patterns = model.patterns[:, model.hypotheses.examples]
    mode, row = _entries(model)
    pairs = np.unique(mode * count + of_row[row])
    return _Pool(patterns, (patterns[:, of_row] == model.patterns).all(axis=1), pairs // count, pairs % count)


@lru_cache(maxsize=64)
def _entries(model: CompiledModel) -> tuple[Ints, Ints]:
    """The (mode, row) pairs of all modes in all rows."""
    matrix = model.marginals["modes"]
    modes = np.repeat(np.arange(matrix.shape[0]), np.diff(matrix.indptr))
    return modes.astype(np.int64), matrix.indices.astype(np.int64)


@lru_cache(maxsize=64)
def _places(model: CompiledModel, column: int) -> tuple[bool, Ints]:
    """Whether a column goes by fault set, and for each mode and set (or row) that has it, mode and pattern as one."""
    pool = _pool(model)
    if pool.same[column]:
        modes, pattern = pool.modes, pool.patterns[column][pool.sets]
    else:
        modes, rows = _entries(model)
        pattern = model.patterns[column][rows]
    return bool(pool.same[column]), modes * model.columns[column].count + pattern


class _Spread:
    """What is believed, laid out by failure mode, so that outcomes can be told apart by it."""

    def __init__(self, belief: Belief) -> None:
        self.belief = belief
        self.model = belief.model
        self.by_set = belief.fault_sets[_pool(self.model).sets]
        self.unlisted = belief.unlisted

    def after(self, watch: Watch) -> Floats:
        """P(mode left, outcome) of one observation and, last, P(unlisted, outcome), shape (M + 1, outcomes)."""
        model, belief = self.model, self.belief
        cause = model.hypotheses.unlisted
        if watch.climate is not None:
            joint = belief.climate_joint() @ watch.chances[watch.climate]
            return np.concatenate([model.marginals["modes"] @ joint, joint[cause].sum(axis=0, keepdims=True)])
        column = model.columns[watch.column]
        pooled, places = _places(model, watch.column)
        mass = self.by_set if pooled else belief.rows[_entries(model)[1]]
        count = len(model.hypotheses.modes)
        masses = sums_by(places, mass, count * column.count).reshape(count, column.count)
        if column.unlisted is None:
            outside = belief.rows[cause] @ watch.chances[model.patterns[watch.column][cause]]
        else:
            outside = belief.prior.predicted[watch.first: watch.first + watch.chances.shape[1]] * self.unlisted
        return np.concatenate([masses @ watch.chances, outside[None]])


def _effect_sentence(title: str, chance: float, suspects: Sequence[SuspectChance], unlisted: float) -> str:
    if chance < 1e-6:
        return f"If “{title}”: not expected at all."
    named = [f"“{s.title}” ({percent(s.chance)})" for s in suspects[:2]]
    if len(suspects) < 2 or unlisted > suspects[1].chance:
        above = not suspects or unlisted > suspects[0].chance
        named.insert(0 if above else 1, f"a cause outside this graph ({percent(unlisted)})")
    return f"If “{title}” ({percent(chance)}): most likely {', then '.join(named[:2])}."
