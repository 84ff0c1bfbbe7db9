"""Why: the weight of each finding, the path a fault takes, what each outcome would change.

The weight of evidence is I. J. Good's, in decibans: ten times the log10 of the factor by which a
finding multiplies the odds of a suspect, all other findings staying as they are (Good, *Probability
and the Weighing of Evidence*, 1950).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import log10

import numpy as np

from graph.answers import EvidenceWeight, OutcomeEffect, PathStep, SignalPath, SuspectChance
from graph.belief import Belief, climate_weights, posterior
from graph.compile import CompiledModel
from graph.equipment import Equipment
from graph.hypotheses import Floats, Ints, sums_by
from graph.policy import RankedTest
from graph.structure import fault_path

MOST_DECIBANS = 100.0
WORTH_NAMING = 0.005
"""Chance from which a suspect, component or part is named."""
WEIGHTY = 1.0
"""Decibans from which a finding is said to speak for or against."""


def percent(chance: float) -> str:
    """A chance for people: never 0 % or 100 % unless it is."""
    if chance <= 0:
        return "0 %"
    if chance < 0.01:
        return "under 1 %"
    if chance > 0.99:
        return "over 99 %"
    return f"{round(chance * 100)} %"


def without_each(belief: Belief) -> Floats:
    """P(row left) with each clue withdrawn in turn, shape (clues, N)."""
    prior, clues = belief.prior, belief.evidence
    if climate_weights(clues) is not None:
        tables = [posterior(prior, [c for c in clues if c is not out])[1] for out in clues]
        rows = np.array(tables).reshape(len(clues), belief.model.rows)
    else:
        logs = np.empty((len(clues), belief.model.rows))
        running = prior.log_rows
        for i, clue in enumerate(clues):
            logs[i] = running
            running = running + clue.rows
        running = np.zeros(belief.model.rows)
        for i in range(len(clues) - 1, -1, -1):
            logs[i] += running
            running = running + clues[i].rows
        top = logs.max(axis=1, keepdims=True)
        rows = np.exp(logs - np.where(np.isfinite(top), top, 0.0))
        total = rows.sum(axis=1, keepdims=True)
        rows = np.divide(rows, total, out=np.zeros_like(rows), where=total > 0)
    if belief.left is None:
        return rows
    return np.array([sums_by(belief.left, r, belief.model.rows) for r in rows]).reshape(rows.shape)


def decibans(with_it: float, without_it: float) -> float:
    """The weight of evidence between two probabilities, within the cap."""
    tiny = 1e-12
    a = min(max(with_it, tiny), 1 - tiny)
    b = min(max(without_it, tiny), 1 - tiny)
    weight = 10 * log10(a / (1 - a) * (1 - b) / b)
    return min(max(weight, -MOST_DECIBANS), MOST_DECIBANS)


def evidence_weights(
    belief: Belief, modes: Sequence[int], chances: Sequence[float]
) -> list[tuple[EvidenceWeight, ...]]:
    """For each mode (index, present chance), the weight of every clue, strongest first."""
    clues = belief.evidence
    if not clues:
        return [() for _ in modes]
    withdrawn = [belief.model.marginals["modes"] @ rows for rows in without_each(belief)]
    answers = []
    for mode, chance in zip(modes, chances, strict=True):
        title = belief.model.equipment.mode_title(belief.model.hypotheses.modes[mode])
        weights = []
        for clue, other in zip(clues, withdrawn, strict=True):
            weight = decibans(chance, float(other[mode]))
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
    equipment = model.equipment
    paths: list[SignalPath] = []
    for weight in weights:
        if weight.decibans < WEIGHTY or weight.about not in equipment.observations or len(paths) == most:
            continue
        steps = fault_path(model, mode, equipment.observations[weight.about].reveals, scene)
        if not steps:
            continue
        shown = tuple(PathStep(n, equipment.signals[n].title, equipment.signals[n].titles[s]) for n, s in steps)
        links = [equipment.mode_title(mode), *(f"{s.title}: {s.state}" for s in shown), f"“{weight.said}”"]
        chain = " → ".join(links)
        paths.append(SignalPath(weight.about, shown, chain))
    return tuple(paths)


def outcome_effects(
    belief: Belief, choices: Sequence[RankedTest], outcomes: Floats, most: int = 2
) -> list[tuple[OutcomeEffect, ...]]:
    """For each choice, what each of its outcomes would leave as suspects.

    `outcomes` are the flat outcome chances of `gain.gains`.
    """
    model = belief.model
    names, titles = model.hypotheses.modes, mode_titles(model.equipment)
    entries = belief.rows[_mode_entries(model)[1]]
    unlisted = belief.unlisted
    answers = []
    for choice in choices:
        shares, outside = _after_outcomes(belief, choice.index, entries, unlisted)
        first = model.watches[choice.index].first
        chances = outcomes[first: first + len(outside)].tolist()
        shares /= np.maximum(outcomes[first: first + len(outside)], 1e-300)
        top = np.argpartition(-shares, min(most, len(names) - 1), axis=0)[:most].T
        effects = []
        for o, outcome in enumerate(choice.observation.outcomes):
            leading = sorted((-float(shares[m, o]), m) for m in top[o].tolist())
            suspects = tuple(SuspectChance(names[m], titles[m], -s) for s, m in leading if -s > WORTH_NAMING)
            sentence = _effect_sentence(outcome.title, chances[o], suspects, outside[o] / max(chances[o], 1e-300))
            effects.append(OutcomeEffect(outcome.id, outcome.title, chances[o], suspects, sentence))
        answers.append(tuple(effects))
    return answers


@lru_cache(maxsize=64)
def mode_titles(equipment: Equipment) -> tuple[str, ...]:
    """`Component: mode` of every failure mode, in the order of the graph."""
    return tuple(equipment.mode_title(m) for m in equipment.modes)


@lru_cache(maxsize=64)
def _mode_entries(model: CompiledModel) -> tuple[Ints, Ints]:
    """The (mode, row) pairs of all modes in all rows."""
    matrix = model.marginals["modes"]
    modes = np.repeat(np.arange(matrix.shape[0]), np.diff(matrix.indptr))
    return modes.astype(np.int64), matrix.indices.astype(np.int64)


def _after_outcomes(belief: Belief, index: int, entries: Floats, unlisted: float) -> tuple[Floats, list[float]]:
    """P(mode left, outcome) of one observation, shape (M, outcomes), and P(unlisted, outcome).

    `entries` are the masses of the rows of `_mode_entries`.
    """
    model = belief.model
    watch = model.watches[index]
    count = len(model.hypotheses.modes)
    if watch.climate is not None:
        joint = belief.climate_joint() @ watch.chances[watch.climate]
        return model.marginals["modes"] @ joint, joint[model.hypotheses.unlisted].sum(axis=0).tolist()
    column = model.columns[watch.column]
    patterns = model.patterns[watch.column]
    mode, row = _mode_entries(model)
    masses = sums_by(mode * column.count + patterns[row], entries, count * column.count)
    shares = np.asarray(masses.reshape(count, column.count) @ watch.chances)
    if column.unlisted is None:
        cause = model.hypotheses.unlisted
        return shares, (belief.rows[cause] @ watch.chances[patterns[cause]]).tolist()
    predicted = belief.prior.predicted[watch.first: watch.first + watch.chances.shape[1]]
    return shares, (predicted * unlisted).tolist()


def _effect_sentence(title: str, chance: float, suspects: Sequence[SuspectChance], unlisted: float) -> str:
    if chance < 1e-6:
        return f"If “{title}”: not expected at all."
    named = [(s.chance, f"“{s.title}” ({percent(s.chance)})") for s in suspects[:2]]
    named.append((unlisted, f"a cause outside this graph ({percent(unlisted)})"))
    named.sort(key=lambda pair: -pair[0])
    return f"If “{title}” ({percent(chance)}): most likely {', then '.join(text for _, text in named[:2])}."
