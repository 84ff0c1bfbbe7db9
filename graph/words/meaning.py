"""What a sentence model makes of a text: how like each wording of an index it is, and whether it is of them at all.

Vectors of sentences differ in ways that say nothing of the symptom (long or short, polite or blunt). The wordings of
one symptom show which ways those are: what differs between them is scaled down (within-class whitening, the metric of
R. A. Fisher's linear discriminant, 1936). The same discriminant tells all wordings from sentences beside the matter.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
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
    """The wordings of an index (W x D) in the metric in which those of one symptom are near; the topic's direction."""

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
    middle = wordings.mean(axis=0)
    return Sense(_unit((wordings - middle) @ metric), metric, middle, *_discriminant(wordings, beside))


@dataclass(frozen=True, slots=True, eq=False)
class Ear:
    """Examples of things to be heard (E x D) with their names, examples of what is none, and what tells them apart."""

    names: tuple[str, ...]
    examples: Floats
    quiet: Floats
    direction: Floats
    offset: float

    def heard(self, vector: Floats, least: float) -> str | None:
        """The name of the likest example; None where a text with this vector (D) scores no more than `least`."""
        likeness = self.examples @ vector
        score = float(vector @ self.direction) + self.offset + float(likeness.max() - (self.quiet @ vector).max())
        return self.names[int(likeness.argmax())] if score > least else None


def ear_of(examples: Mapping[str, Floats], quiet: Floats, beside: Floats) -> Ear:
    """The ear for named examples (E x D each) among `quiet` ones and sentences `beside` the matter: unit vectors."""
    every = np.vstack(list(examples.values()))
    names = tuple(name for name, some in examples.items() for _ in some)
    return Ear(names, every, quiet, *_discriminant(every, quiet, beside))


def _discriminant(ours: Floats, *others: Floats) -> tuple[Floats, float]:
    """The direction and offset that put the middle of ours at 0.5 and that of the others, group by group, at -0.5."""
    middle, other = ours.mean(axis=0), np.mean([group.mean(axis=0) for group in others], axis=0)
    spread = np.mean([_spread(group - group.mean(axis=0)) for group in others], axis=0)
    direction = np.linalg.solve(_shrunk((_spread(ours - middle) + spread) / 2), middle - other)
    direction /= (middle - other) @ direction
    return direction, -float((middle + other) @ direction) / 2


def _spread(from_middle: Floats) -> Floats:
    return np.asarray(from_middle.T @ from_middle / len(from_middle), dtype=np.float64)


def _shrunk(spread: Floats) -> Floats:
    width = len(spread)
    return np.asarray(spread + (SHRINK * np.trace(spread) / width + 1e-12) * np.eye(width), dtype=np.float64)


def _unit(vectors: Floats) -> Floats:
    return np.asarray(vectors / np.maximum(np.linalg.norm(vectors, axis=-1, keepdims=True), 1e-12), dtype=np.float64)
