"""What every observation is worth, in bits, before it is made.

The gain over hypotheses is I(O; H) = H(O) - sum_h p(h) H(O | h); over remedy classes it is
I(O; C) = I(O; H) - sum_c p(c) I(O; H | c), where only classes of mixed patterns add to the last sum.
See C. E. Shannon, "A mathematical theory of communication", 1948, section 6.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from graph.belief import Belief, summed
from graph.columns import Watch
from graph.hypotheses import Floats, sums_by

LN2 = float(np.log(2))


@dataclass(frozen=True, eq=False)
class Gains:
    """For each observation, in the order of the model's watches (T).

    `classes` and `hypotheses` are bits (T), those of a test with a reading over its reading.
    """

    classes: Floats
    hypotheses: Floats
    _belief: Belief
    _masses: Floats

    @cached_property
    def outcomes(self) -> Floats:
        """The chances of named outcomes, flat; each observation's add up to the chance that it can be made at all."""
        model = self._belief.model
        if not model.watches:
            return np.zeros(0)
        told = model.outcomes.told @ self._masses
        outcomes = told[: len(model.outcomes.owner)]
        outside = self._masses[model.outcomes.unlisted_pattern]
        outcomes += outside[model.outcomes.owner] * self._belief.prior.predicted
        for i in model.climatic:
            watch = model.watches[i]
            assert watch.climate is not None
            chances = self._belief.climate_joint().sum(axis=0) @ watch.chances[watch.climate]
            outcomes[watch.first: watch.first + watch.chances.shape[1]] = chances
        return np.asarray(outcomes, dtype=np.float64)


def _spread(mass: Floats) -> Floats:
    """X log x, 0 at 0, in nats."""
    logs = mass + 1e-300
    np.log(logs, out=logs)
    logs *= mass
    return logs


def gains(belief: Belief) -> Gains:
    """The gain of every observation of the graph."""
    model, prior = belief.model, belief.prior
    if not model.watches:
        return Gains(np.zeros(0), np.zeros(0), belief, np.zeros(0))
    sums = summed(model, belief.pooled)
    masses, cells = sums[: model.spare + 1], model.cells
    told, count = cells.told @ masses, len(cells.owner)
    outcomes, left_open = told[:count], told[count:]
    outside = masses[cells.unlisted_pattern]
    outcomes += outside[cells.owner] * prior.predicted_cells
    nats = _spread(cells.sums @ outcomes) - cells.sums @ _spread(outcomes)
    nats -= left_open + outside * prior.surprise
    by_class = nats - model.classes.within(sums[model.spare + 1:])
    for i in model.climatic:
        nats[i], by_class[i] = _climatic(belief, model.gauges[i])
    return Gains(np.maximum(by_class, 0) / LN2, np.maximum(nats, 0) / LN2, belief, masses)


def _climatic(belief: Belief, watch: Watch) -> tuple[float, float]:
    """Both gains (nats) of a condition that only shifts rates."""
    assert watch.climate is not None
    joint = belief.climate_joint()
    chances = watch.chances[watch.climate]
    outcomes = joint.sum(axis=0) @ chances
    noise = -(joint.sum(axis=0) @ _spread(chances).sum(axis=1))
    spread = -_spread(outcomes).sum()
    of_row, count = belief.model.classes.of_row, len(belief.model.classes.remedies)
    classes = np.stack([sums_by(of_row, column, count) for column in joint.T], axis=1)
    given = classes @ chances
    by_class = _spread(given).sum() - _spread(given.sum(axis=1)).sum()
    return float(spread - noise), float(spread + by_class)


def class_entropy(belief: Belief) -> float:
    """Entropy over remedy classes, in bits."""
    classes = belief.model.classes
    mass = sums_by(classes.of_set, belief.fault_sets, len(classes.remedies))
    return max(0.0, float(-_spread(mass).sum() / LN2))
