"""What observations make of each fault alone: equal signatures can't be told apart."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from graph.compile import CompiledModel
from graph.hypotheses import Ints

SOUND = -1
"""Stands for no fault at all beside the numbers of failure modes."""


def lone_rows(model: CompiledModel, scene: int) -> Ints:
    """The rows of a scene in which at most one failure mode is present, listed causes alone."""
    hypotheses = model.hypotheses
    few = (hypotheses.members[:, 1:] < 0).all(axis=1) & ~hypotheses.unlisted
    return np.flatnonzero(few & (hypotheses.scene == scene))


def signatures(model: CompiledModel, names: Collection[str], scene: int) -> dict[int, bytes]:
    """The signature of each failure mode alone, and of `SOUND`, in one scene.

    Two signatures are equal when every named observation has the same outcome chances (to twelve digits; readings
    by their named outcomes). Modes that the scene rules out have none.
    """
    rows = lone_rows(model, scene)
    marks = [
        w.alike[model.patterns[w.column, rows]]
        for w in model.watches if w.column >= 0 and w.observation.id in names
    ]
    modes = model.hypotheses.members[rows, 0].tolist()
    found = [column.tobytes() for column in np.array(marks).T] if marks else [b""] * len(modes)
    return dict(zip(modes, found, strict=True))
