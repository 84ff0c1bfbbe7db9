"""What a sentence model makes of a text beside the wordings of an index: how like each it is, and whether it is of them.

Vectors of sentences differ in ways that say nothing of the symptom (long or short, polite or blunt). The wordings of one
symptom show which ways those are: what differs between them is scaled down (within-class whitening, the metric of R. A.
Fisher's linear discriminant, 1936). The same discriminant tells all wordings from sentences beside the matter.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from graph.hypotheses import Floats, Ints

SHRINK = 1.0
"""How much of an even spread is added to the spread of the wordings, in units of its mean: few wordings, many axes."""


@dataclass(frozen=True, slots=True, eq=False)
class Meant:
    """Of one text: the likeness (W) to every wording, -1..1, and its topic.

    The topic is near 0.5 for a text about what the wordings are about, near -0.5 for one beside the matter.
    """

    likeness: Floats
    topic: float


Meaning = Callable[[str], Meant]
"""What a sentence model makes of a text."""


@dataclass(frozen=True, slots=True, eq=False)
class Sense:
    """The wordings of an index in the metric in which those of one symptom are near (W x D), and the topic's direction."""

    wordings: Floats
    metric: Floats
    middle: Floats
    direction: Floats
    offset: float

    def meant(self, vector: Floats) -> Meant:
        """What a text with this vector (D) means."""
        return Meant(
            self.wordings @ _unit((vector - self.middle) @ self.metric),
            float(vector @ self.direction) + self.offset,
        )


def sense_of(wordings: Floats, starts: Ints, counts: Ints, beside: Floats) -> Sense:
    """The sense of wordings.

    Parameters
    ----------
    wordings
        Unit vectors (W x D) of the wordings, in the order of an index.
    starts, counts
        The first wording of each symptom (S) and how many it has.
    beside
        Unit vectors (B x D) of sentences beside the matter.
    """
    means = np.add.reduceat(wordings, starts) / counts[:, None]
    within = _spread(wordings - np.repeat(means, counts, axis=0))
    values, axes = np.linalg.eigh(_shrunk(within))
    metric = (axes / np.sqrt(values)) @ axes.T
    middle, other = wordings.mean(axis=0), beside.mean(axis=0)
    both = (_spread(wordings - middle) + _spread(beside - other)) / 2
    direction = np.linalg.solve(_shrunk(both), middle - other)
    direction /= (middle - other) @ direction
    return Sense(
        _unit((wordings - middle) @ metric), metric, middle, direction, -float((middle + other) @ direction) / 2,
    )


def _spread(from_middle: Floats) -> Floats:
    return np.asarray(from_middle.T @ from_middle / len(from_middle), dtype=np.float64)


def _shrunk(spread: Floats) -> Floats:
    width = len(spread)
    return np.asarray(spread + (SHRINK * np.trace(spread) / width + 1e-12) * np.eye(width), dtype=np.float64)


def _unit(vectors: Floats) -> Floats:
    return np.asarray(vectors / np.maximum(np.linalg.norm(vectors, axis=-1, keepdims=True), 1e-12), dtype=np.float64)
