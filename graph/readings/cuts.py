"""A number cut into few cells that tell as much as the number itself, next to nothing left out.

What a reading tells of states is its likelihood in each of them; numbers with the same ratios are one (a sufficient
statistic). Cells are merged while what is lost stays under a bound that holds for every prior: with L_s(i) the chance
of cell i in state s, and g a group of cells, the loss is at most

    max over s of  sum over groups g of  sum over i in g of  L_s(i) log( L_s(i) r(g) / (L_s(g) r(i)) )

for whatever r; here r is all states alike. (The expected loss is the same with the prior's own mixture for r, which
makes it least.) What is lost of the gain over remedy classes is no more: classes tell of a reading only by the state.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from graph.hypotheses import Floats, Ints
from graph.readings.likelihood import HALF, Outlook, outlook
from graph.readings.records import Reading

MOST_BITS = 5e-3
"""What all merging may lose under any prior, bits; a test is worth a hundred times as much before it is thought of."""
FINE = 120
"""Cells of the broad density before merging; each known density adds `OWN` around its edges."""
OWN = 24
ALIKE = 0.1
"""Cells whose log-ratios agree to this are merged first."""
EVEN = 0.3
"""Cells whose log-ratios between states are within this of one another, all states considered, tell nothing."""


def cut(reading: Reading) -> Floats:
    """P(cell | state) under the usual circumstances (S x cells)."""
    return _cut(_Same(reading))


@dataclass(frozen=True, slots=True, eq=False)
class _Same:
    """A reading, equal to another with the same figures: many machines measure 230 V in many places."""

    reading: Reading

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and self.reading.figures == other.reading.figures

    def __hash__(self) -> int:
        return hash(self.reading.figures)


@lru_cache(maxsize=1024)
def _cut(same: _Same) -> Floats:
    at = {c.id: c.usual for c in same.reading.circumstances}
    return merged(fine_cells(outlook(same.reading, at, rough=True)), MOST_BITS)


def edges(look: Outlook) -> list[float]:
    """Values that cut the axis finely, the more finely where a density changes."""
    values = set(look.broad.values(FINE))
    for density in look.known:
        for end in (density.low, density.high):
            if abs(end) < float("inf"):
                values.update(end + density.spread * (k * 8 / OWN - 4) for k in range(OWN + 1))
    return sorted(values)


def fine_cells(look: Outlook) -> Floats:
    """P(cell | state) of fine cells (S x cells), the ends open."""
    inner = edges(look)
    below = np.array([[0.0, *map(d.below, inner), 1.0] for d in (*look.known, look.broad)])
    mass = np.maximum(np.diff(below, axis=1), 0.0)
    known, broad = mass[:-1], mass[-1]
    everything = HALF * broad + (1 - HALF) * known.mean(axis=0)
    return np.asarray((1 - look.wrong) * mass[list(look.place)] + look.wrong * everything, dtype=np.float64)


def lost(parts: Floats) -> Floats:
    """For each state (first axis), the bound of the loss in bits when the last axis becomes one; r is the mean."""
    whole = parts.mean(axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = parts * whole.sum(axis=-1, keepdims=True) / (parts.sum(axis=-1, keepdims=True) * whole)
        return np.asarray(np.where(parts > 0, parts * np.log2(ratio), 0.0).sum(axis=-1), dtype=np.float64)


def merged(cells: Floats, most: float) -> Floats:
    """Merge cells (S x cells), likest first, while the bound of the loss stays within `most` bits."""
    cells, spent = _alike(cells[:, cells.max(axis=0) > 1e-12])
    while cells.shape[1] > 1:
        one, other = np.triu_indices(cells.shape[1], 1)
        loss = lost(np.stack([cells[:, one], cells[:, other]], axis=-1))
        group, taken = np.arange(cells.shape[1]), np.zeros(cells.shape[1], dtype=bool)
        for k in np.argsort(loss.max(axis=0), kind="stable").tolist():
            if (spent + loss[:, k]).max() > most or 2 * taken.sum() > len(taken):
                break
            if not taken[one[k]] and not taken[other[k]]:
                spent = spent + loss[:, k]
                taken[[one[k], other[k]]] = True
                group[other[k]] = one[k]
        if not taken.any():
            break
        cells = _summed(cells, np.unique(group, return_inverse=True)[1])
    return _evened(cells / cells.sum(axis=1, keepdims=True))


def _evened(cells: Floats) -> Floats:
    """The same with cells that tell next to nothing telling nothing: one chance in all states.

    Such a cell holds the numbers that fit no state; what is equal in all rows costs no time in gains.
    """
    with np.errstate(divide="ignore"):
        logs = np.log(cells)
    even = logs.max(axis=0) - logs.min(axis=0) < EVEN
    if not even.any() or even.all():
        return cells
    chances = cells[:, even].mean(axis=0)
    rest = cells[:, ~even]
    result = np.empty_like(cells)
    result[:, even] = chances
    result[:, ~even] = rest * ((1 - chances.sum()) / rest.sum(axis=1, keepdims=True))
    return result


def _alike(cells: Floats) -> tuple[Floats, Floats]:
    """Cells with nearly the same ratios as one, and what that loses in each state at most."""
    logs = np.log(np.maximum(cells / cells.mean(axis=0), 1e-9))
    group = np.unique(np.rint(logs / ALIKE), axis=1, return_inverse=True)[1].reshape(-1)
    joined = _summed(cells, group)
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.log2(cells * joined.mean(axis=0)[group] / (joined[:, group] * cells.mean(axis=0)))
    return joined, np.where(cells > 0, cells * ratio, 0.0).sum(axis=1)


def _summed(cells: Floats, group: Ints) -> Floats:
    table = np.zeros((len(cells), int(group.max()) + 1))
    np.add.at(table.T, group, cells.T)
    return table
