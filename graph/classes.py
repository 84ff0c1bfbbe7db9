"""Remedy classes: hypotheses that call for the same repair are one.

Within a class nothing needs telling apart, so what an observation would tell there does not count. In a
class of mass T whose rows k have the masses b_k, and outcomes the masses m_o = sum_k b_k L_ko, that is

    T log T - sum_o m_o log m_o + sum_k b_k sum_o L_ko log L_ko    (nats).

It is 0 unless the class is *mixed*: its rows differ in L. An outcome that all rows of the class make
equally likely tells nothing and is left out; T log T then counts for the share of the outcomes that are
kept. With constants x such that sum_o L_ko x_o = sum_o L_ko log L_ko for all k, the last sum is
sum_o m_o x_o; two kinds of rows and two kept outcomes always have them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from graph.cells import Cells, blended, cells_of, chunks, firsts, segment_sums, spans
from graph.columns import Column, Matrix, PatternTable, Watch, alike_rows, indicator
from graph.equipment import Equipment
from graph.hypotheses import Floats, Hypotheses, Ints
from graph.outcomes import chance_table
from graph.signals import Bools

TINY = 1e-200
ALIKE = 0.5
"""Log-ratios of a reading's cells that agree to this tell the same: at most 6e-4 bits are lost for two kinds."""


@dataclass(frozen=True, slots=True, eq=False)
class Classes:
    """Remedy classes: rows that call for the same repair.

    `remedies[c]` are the remedies of class c; `of_row` (N) the class of each row, `of_set` (F) that of each fault
    set. Cells that come to the same
    number are kept once. `parts` (Q x pooled masses) gives the masses of all parts, `outcomes` turns them into
    the outcome masses m of all cells; `constants` are x for each. Cells that the same observations have stand
    together, in *batches* that begin at `starts` among the outcome masses. `kept` (batches x totals) is the
    share of the outcomes that are kept, for the parts that are the whole of a cell, which come first; `noise`
    (batches x Q) turns the parts into that part of sum b L log L that has no constants. `batches`
    (T observations x batches) says which batches each observation has.
    """

    remedies: tuple[tuple[str, ...], ...]
    of_row: Ints
    of_set: Ints
    parts: Matrix
    outcomes: Matrix
    constants: Floats
    starts: Ints
    kept: Matrix
    noise: Matrix
    batches: Matrix

    def within(self, parts: Floats) -> Floats:
        """What each observation would tell of rows of one class (T), in nats.

        `parts` (Q) are the masses of the parts; they are changed by 1e-200, so that all have a logarithm.
        """
        parts += TINY
        masses = self.outcomes @ parts
        told = np.log(masses)
        told -= self.constants
        told *= masses
        whole = parts[: self.kept.shape[1]]
        worth = self.kept @ (whole * np.log(whole))
        worth += self.noise @ parts
        worth -= np.add.reduceat(told, self.starts)
        return np.asarray(self.batches @ worth, dtype=np.float64)


def remedy_classes(equipment: Equipment, hypotheses: Hypotheses) -> tuple[tuple[tuple[str, ...], ...], Ints]:
    """Remedy classes and the class of each row; class 0 needs no repair, the last is unlisted."""
    names = sorted({equipment.modes[m].remedies[0] for m in hypotheses.modes})
    number = {name: i for i, name in enumerate(names)}
    first = np.array([*(number[equipment.modes[m].remedies[0]] for m in hypotheses.modes), -1])
    wanted = np.sort(first[hypotheses.members], axis=1)
    for column in range(1, wanted.shape[1]):
        wanted[:, column - 1][wanted[:, column - 1] == wanted[:, column]] = -1
    wanted = np.sort(wanted, axis=1)
    key = np.zeros(len(wanted), dtype=np.int64)
    for values in wanted.T:
        key = key * (len(names) + 1) + values + 1
    key[hypotheses.unlisted] = -1
    _, row, of_row = np.unique(key, return_index=True, return_inverse=True)
    table = [tuple([names[i] for i in numbers if i >= 0]) for numbers in wanted[row].tolist()]
    shift = (of_row.reshape(-1) - 1) % len(table)
    return (*table[1:], ()), shift


def classes_of(
    remedies: tuple[tuple[str, ...], ...],
    of_row: Ints,
    hypotheses: Hypotheses,
    columns: Sequence[Column],
    patterns: PatternTable,
    watches: Sequence[Watch],
) -> Classes:
    """Find the cells of every observation and lay out their masses."""
    cells = cells_of(of_row, len(remedies), hypotheses, columns, patterns, watches)
    table = chance_table(watches)
    first = np.cumsum([0, *(len(w.chances) for w in watches)])
    reads = np.flatnonzero(cells.view_of >= 0)
    counts = np.zeros(len(watches), dtype=np.int64)
    counts[reads] = np.diff(cells.view_first)[cells.view_of[reads]]
    distinct, which = _distinct(cells, counts, first, alike_rows(table))
    batches, batch = _batches(which, counts)
    order = np.lexsort((cells.total[distinct[0]], batch))
    cell, watch, batch = distinct[0][order], distinct[1][order], batch[order]
    entry, owner = spans(cells.first[cell], np.diff(cells.first)[cell])
    chances = np.ascontiguousarray(table[first[watch][owner] + cells.kind[entry]].T)
    read = np.array([w.observation.reading is not None for w in watches], dtype=bool)[watch]
    _join_alike(chances, owner, read)
    low, high, several = _extremes(chances, owner, len(cell))
    keep = low < high
    constants = _constants(low, high, keep)
    number = np.cumsum(keep.T).reshape(keep.T.shape).T - 1
    outcome, used = np.nonzero(keep.take(owner, axis=1) & (chances > 0))
    rest = np.flatnonzero((several | (keep.sum(axis=0) > 2))[owner])
    noise = (_spread(chances[:, rest]) - chances[:, rest] * constants[:, owner[rest]]) * keep[:, owner[rest]]
    share = (chances[:, np.diff(owner, prepend=-1) > 0] * keep).sum(axis=0)
    parts, size = cells.masses.shape[0], batches.shape[1]
    return Classes(
        remedies, of_row, of_row[hypotheses.examples], cells.masses,
        outcomes=indicator(
            [number[outcome, owner[used]]], [cells.part[entry[used]]], [chances[outcome, used]],
            (int(keep.sum()), parts),
        ),
        constants=constants.T[keep.T],
        starts=np.searchsorted(np.repeat(batch, keep.sum(axis=0)), np.arange(size)),
        kept=indicator([batch], [cells.total[cell]], [share], (size, cells.totals)),
        noise=indicator([batch[owner[rest]]], [cells.part[entry[rest]]], [noise.sum(axis=0)], (size, parts)),
        batches=batches,
    )


def _batches(which: Ints, counts: Ints) -> tuple[Matrix, Ints]:
    """Batches of cells that the same observations have: which observation has which, and the batch of each cell.

    `counts` are the cells of each observation, `which` their numbers, observation by observation.
    """
    from scipy.sparse import csr_array

    owner = np.repeat(np.arange(len(counts)), counts)
    holders = indicator([which], [owner], None, (int(which.max(initial=-1)) + 1, len(counts)))
    salt = np.random.default_rng(2).integers(2**64, size=len(counts), dtype=np.uint64)
    key = segment_sums(salt[holders.indices], holders.indptr.astype(np.int64))
    example, batch = firsts(key, np.zeros_like(key, dtype=np.int64))
    return csr_array(holders[example].T), batch


def _distinct(cells: Cells, counts: Ints, first: Ints, alike: Ints) -> tuple[tuple[Ints, Ints], Ints]:
    """Cells of observations that differ in their parts or the chances of these, and which of them each one is.

    `counts` are the cells of each observation; its chances are rows from `first` on, `alike` is the first
    row that each is equal to. Returns (cell, observation) of each distinct one, and the number of each
    cell of each observation among those.
    """
    salt = np.random.default_rng(1).integers(2**64, size=len(alike), dtype=np.uint64)[alike]
    cell, watch = spans(cells.view_first[cells.view_of], counts)
    size = np.diff(cells.first)[cell]
    keys = np.empty(len(cell), dtype=np.uint64)
    for begin, end in chunks(size):
        entry, owner = spans(cells.first[cell[begin:end]], size[begin:end])
        chance = first[watch[begin:end]][owner] + cells.kind[entry]
        keys[begin:end] = segment_sums(
            blended(cells.key[entry] + salt[chance]), np.cumsum([0, *size[begin:end]])
        )
    example, which = firsts(keys, cells.total[cell])
    return (cell[example], watch[example]), which


def _join_alike(chances: Floats, owner: Ints, read: Bools) -> None:
    """In the cells of readings, make one of the outcomes whose ratios between all kinds of rows agree to `ALIKE`.

    What such outcomes tell of the kinds is the same, so next to nothing is lost. `chances` (outcomes x kinds)
    change in place; `read` says which cells are of readings.
    """
    entry = np.flatnonzero(read[owner])
    if not len(entry):
        return
    begins = np.flatnonzero(np.diff(owner[entry], prepend=-1))
    own = np.repeat(np.arange(len(begins)), np.diff(begins, append=len(entry)))
    told = chances[:, entry]
    logs = np.log(np.maximum(told, 1e-12))
    step = np.rint((logs - logs[:, begins[own]]) / ALIKE).astype(np.int64).astype(np.uint64)
    salt = np.random.default_rng(3).integers(2**64, size=len(entry), dtype=np.uint64)
    key = np.add.reduceat(step * salt[np.arange(len(entry)) - begins[own]], begins, axis=1)
    order = np.argsort(key, axis=0, kind="stable")
    differs = np.diff(np.take_along_axis(key, order, axis=0), axis=0) != 0
    group = np.zeros_like(order)
    np.put_along_axis(group, order[1:], np.cumsum(differs, axis=0), axis=0)
    joined = np.zeros_like(told)
    np.add.at(joined, (group[:, own], np.arange(len(entry))), told)
    chances[:, entry] = joined


def _extremes(chances: Floats, owner: Ints, count: int) -> tuple[Floats, Floats, Bools]:
    """Least and greatest chance of each outcome in each cell, and whether it has more than two kinds of rows.

    `chances` (outcomes x kinds) are those of each kind of row, `owner` its cell.
    """
    begins = np.searchsorted(owner, np.arange(count))
    low, high = chances.take(begins, axis=1), chances.take(begins + 1, axis=1)
    low, high = np.minimum(low, high), np.maximum(low, high)
    place = np.arange(len(owner)) - begins[owner]
    several = np.zeros(count, dtype=bool)
    for further in range(2, int(place.max(initial=0)) + 1):
        more = np.flatnonzero(place == further)
        several[owner[more]] = True
        low[:, owner[more]] = np.minimum(low[:, owner[more]], chances[:, more])
        high[:, owner[more]] = np.maximum(high[:, owner[more]], chances[:, more])
    return low, high, several


def _spread(mass: Floats) -> Floats:
    """X log x, 0 at 0."""
    return mass * np.log(np.where(mass > 0, mass, 1.0))


def _constants(low: Floats, high: Floats, keep: Bools) -> Floats:
    """The constants x of each mixed class (outcomes x cells), 0 unless two outcomes are kept.

    Then the two kinds of rows have (high, low) and (low, high) as their chances.
    """
    constants = np.zeros_like(low)
    cell = np.flatnonzero(keep.sum(axis=0) == 2)
    one = keep[:, cell].argmax(axis=0)
    other = len(keep) - 1 - keep[::-1, cell].argmax(axis=0)
    a, b, c, d = high[one, cell], low[other, cell], low[one, cell], high[other, cell]
    first, second = _spread(a) + _spread(b), _spread(c) + _spread(d)
    scale = a * d - b * c
    constants[one, cell] = (first * d - second * b) / scale
    constants[other, cell] = (second * a - first * c) / scale
    return constants
