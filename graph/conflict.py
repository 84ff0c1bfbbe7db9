"""Findings that hardly go together, and which of them to look at again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from graph.belief import Belief, Prior, posterior
from graph.evidence import Evidence
from graph.hypotheses import Floats

CONFLICT_NATS = float(np.log(10))
"""Findings ten times less likely together than apart are called a conflict."""


@dataclass(frozen=True, slots=True)
class Conflict:
    """How much less likely findings are together than apart, over the listed causes.

    `nats` is log(prod P(e_i) / P(e)), the conflict measure of F. V. Jensen et al. (1991); `culprits` are the
    findings any one of which, withdrawn, resolves it (or a pair that does so together), the one that resolves
    most first.
    """

    nats: float
    culprits: tuple[tuple[str, ...], ...]


def conflict(belief: Belief) -> Conflict | None:
    """The conflict among the findings, or None."""
    prior, clues = belief.prior, belief.evidence
    if len(clues) < 2 or _plainly_none(belief):
        return None
    listed = _log_listed(prior, prior.log_rows)
    apart = [_log_listed(prior, _joint(prior, [c])) - listed for c in clues]
    nats = _clash(apart, _log_listed(prior, belief.log_rows) - listed)
    if nats < CONFLICT_NATS:
        return None

    def left(*withdrawn: int) -> float:
        kept = [i for i in range(len(clues)) if i not in withdrawn]
        together = _log_listed(prior, _joint(prior, [clues[i] for i in kept])) - listed
        return _clash([apart[i] for i in kept], together)

    for size in (1, 2):
        rest = {some: left(*some) for some in combinations(range(len(clues)), size)}
        solved = sorted((some for some in rest if rest[some] < CONFLICT_NATS), key=lambda some: (rest[some], some))
        if solved:
            return Conflict(nats, tuple(tuple(clues[i].about for i in some) for some in solved))
    return Conflict(nats, ())


def _plainly_none(belief: Belief) -> bool:
    """Whether the unlisted cause alone tells that nothing clashes.

    It predicts an ordinary finding with its chance over the listed causes or, floored, with more: so its odds
    have risen by the conflict measure at least. Conditions and remedies it takes as they are.
    """
    equipment = belief.model.equipment
    for clue in belief.evidence:
        observation = equipment.observations.get(clue.about)
        if observation is None or observation.only_if or observation.reveals in equipment.conditions:
            return False
    count = len(belief.model.hypotheses.scenes.shares)
    before, now = float(belief.prior.table[-count:].sum()), belief.unlisted
    return bool(now * (1 - before) < np.exp(CONFLICT_NATS - 1e-6) * before * (1 - now))


def _clash(apart: Sequence[float], together: float) -> float:
    return float("inf") if together == -np.inf else sum(apart) - together


def _joint(prior: Prior, clues: Sequence[Evidence]) -> Floats:
    """Log P(row, clues)."""
    if len(clues) == 1 and clues[0].climates is None:
        return prior.log_rows + clues[0].rows
    return posterior(prior, clues)[0]


def _log_listed(prior: Prior, log_rows: Floats) -> float:
    """Log P(clues, one of the listed causes), from the log joint of all rows; the unlisted ones come last."""
    listed = log_rows[: -len(prior.model.hypotheses.scenes.shares)]
    top = float(listed.max())
    if top == -np.inf:
        return top
    return top + float(np.log(np.exp(listed - top).sum()))
