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

from graph.columns import Column, Matrix, PatternTable, Watch, indicator
from graph.equipment import Equipment
from graph.hypotheses import Floats, Hypotheses, Ints
from graph.outcomes import chance_table
from graph.signals import Bools


@dataclass(frozen=True, slots=True, eq=False)
class Classes:
    """Remedy classes: rows that call for the same repair.

    `remedies[c]` are the remedies of class c; `of_row` (N) the class of each row. `sums`, times the pooled
    masses, has three blocks: the part of sum b L log L that has no constants (one for each of the `mixed`
    observations, ascending), the `totals` T of mixed classes, and the outcome masses m of those classes,
    observation by observation, in blocks that begin at `starts`. `constants` are x for each outcome mass;
    `kept` (mixed x totals) is the share of the outcomes that are kept.
    """

    remedies: tuple[tuple[str, ...], ...]
    of_row: Ints
    sums: Matrix
    mixed: Ints
    totals: int
    starts: Ints
    constants: Floats
    kept: Matrix


def remedies_for(equipment: Equipment, modes: Sequence[str]) -> tuple[str, ...]:
    """The usual remedies (each mode's first) of a set of failure modes, sorted, each once."""
    return tuple(sorted({equipment.modes[m].remedies[0] for m in modes}))


def remedy_classes(equipment: Equipment, hypotheses: Hypotheses) -> tuple[tuple[tuple[str, ...], ...], Ints]:
    """Remedy classes and the class of each row; class 0 needs no repair, the last is unlisted."""
    names = sorted({equipment.modes[m].remedies[0] for m in hypotheses.modes})
    first = np.array([*(names.index(equipment.modes[m].remedies[0]) for m in hypotheses.modes), -1])
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
    """Find the mixed classes of every observation and lay out their masses."""
    groups = _Groups(of_row, len(remedies), hypotheses, patterns)
    found = _mixed_entries(groups, columns, patterns, watches)
    table = np.ascontiguousarray(chance_table(watches).T)
    begins = np.flatnonzero(found.begins)
    cell = np.cumsum(found.begins) - 1
    low, high, several = _extremes(table, found.kind, cell, begins)
    keep = low < high
    constants = _constants(low, high, keep)
    kept = keep.take(cell, axis=1)
    outcome, entry = np.nonzero(kept & (table > 0).take(found.kind, axis=1))

    rest = np.flatnonzero((several | (keep.sum(axis=0) > 2))[cell])
    noise = _spread(table)[:, found.kind[rest]] - table[:, found.kind[rest]] * constants[:, cell[rest]]
    mixed, place = np.unique(found.watch[begins], return_inverse=True)
    used, total = np.unique(found.total[begins], return_inverse=True)
    summed, source = groups.totals(used)
    first = len(mixed) + len(used)
    number = first - 1 + np.cumsum(keep.T).reshape(keep.T.shape).T
    sums = indicator(
        [place[cell[rest]], len(mixed) + summed, number[outcome, cell[entry]]],
        [found.source[rest], source, found.source[entry]],
        [(noise * kept[:, rest]).sum(axis=0), np.ones(len(source)), table[outcome, found.kind[entry]]],
        (first + int(keep.sum()), patterns.width),
    )
    sizes = np.bincount(place, keep.sum(axis=0), len(mixed)).astype(np.int64)
    share = (table.take(found.kind[begins], axis=1) * keep).sum(axis=0)
    return Classes(
        remedies, of_row, sums, mixed, len(used),
        starts=np.cumsum(sizes) - sizes,
        constants=constants.T[keep.T],
        kept=indicator([place], [total], [share], (len(mixed), len(used))),
    )


def _extremes(table: Floats, kind: Ints, cell: Ints, begins: Ints) -> tuple[Floats, Floats, Bools]:
    """Least and greatest chance of each outcome in each cell, and whether it has more than two kinds of rows.

    `table` (outcomes x kinds) are the chances of each kind of row; the entries of a cell begin at `begins`.
    """
    least, most = np.minimum.reduceat(kind, begins), np.maximum.reduceat(kind, begins)
    one, other = table.take(least, axis=1), table.take(most, axis=1)
    low, high = np.minimum(one, other), np.maximum(one, other)
    between = np.flatnonzero((kind != least[cell]) & (kind != most[cell]))
    np.minimum.at(low.T, cell[between], table.T[kind[between]])
    np.maximum.at(high.T, cell[between], table.T[kind[between]])
    several = np.zeros(len(begins), dtype=bool)
    several[cell[between]] = True
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


@dataclass(frozen=True, slots=True, eq=False)
class _Group:
    """Where an observation can be made: the places it reads, class by class.

    `place` (n) are fault sets or rows, `of` (n) the class of each, `leader` (n) the first of the same
    class; `offset` turns places into pooled masses, `base` classes into totals.
    """

    place: Ints
    of: Ints
    leader: Ints
    offset: int
    base: int


class _Groups:
    """The groups of places that the columns need, each once."""

    def __init__(self, of_row: Ints, classes: int, hypotheses: Hypotheses, patterns: PatternTable) -> None:
        self.of_row = of_row
        self.classes = classes
        self.of_set = np.zeros(hypotheses.fault_sets, dtype=np.int64)
        self.of_set[hypotheses.fault_set] = of_row
        self.patterns = patterns
        self.groups: dict[bytes, _Group] = {}

    def group(self, number: int, column: Column) -> _Group:
        """The group of one column."""
        pooled = self.patterns.pooled[number]
        pattern = (self.patterns.sets if pooled else self.patterns.rows)[number]
        can = np.ones(len(pattern), dtype=bool) if column.foreign is None else pattern != column.foreign
        key = can.tobytes()
        if key not in self.groups:
            place = np.flatnonzero(can)
            of = (self.of_set if pooled else self.of_row)[place]
            order = np.argsort(of, kind="stable")
            place, of = place[order], of[order]
            begins = np.diff(of, prepend=-1) > 0
            leader = np.flatnonzero(begins)[np.cumsum(begins) - 1]
            offset = 0 if pooled else len(self.of_set)
            self.groups[key] = _Group(place, of, leader, offset, len(self.groups) * self.classes)
        return self.groups[key]

    def totals(self, used: Ints) -> tuple[Ints, Ints]:
        """Pairs (place among the `used` totals, pooled mass that belongs to it)."""
        none: Ints = np.zeros(0, dtype=np.int64)
        total = np.concatenate([none, *(g.base + g.of for g in self.groups.values())])
        source = np.concatenate([none, *(g.offset + g.place for g in self.groups.values())])
        wanted = np.flatnonzero(np.isin(total, used))
        return np.searchsorted(used, total[wanted]), source[wanted]


@dataclass(frozen=True, slots=True, eq=False)
class _Entries:
    """What mixed classes consist of, observation by observation, class by class.

    For each entry its observation, total, pooled mass and kind (its row of `chance_table`); `begins` marks
    the first of each class.
    """

    watch: Ints
    total: Ints
    source: Ints
    kind: Ints
    begins: Bools


def _mixed_entries(
    groups: _Groups, columns: Sequence[Column], patterns: PatternTable, watches: Sequence[Watch]
) -> _Entries:
    """The entries of every class whose rows differ in what an observation may show."""
    pieces = [np.zeros((5, 0), dtype=np.int64)]
    first = 0
    for i, watch in enumerate(watches):
        if watch.column >= 0:
            group = groups.group(watch.column, columns[watch.column])
            table = patterns.sets if group.offset == 0 else patterns.rows
            kind = watch.alike.take(table[watch.column].take(group.place))
            differs = np.flatnonzero(kind != kind.take(group.leader))
            if len(differs):
                mixed = np.zeros(groups.classes, dtype=bool)
                mixed[group.of[differs]] = True
                live = np.flatnonzero(mixed.take(group.of))
                pieces.append(np.stack([
                    np.full(len(live), i), group.base + group.of[live], group.offset + group.place[live],
                    first + kind[live], group.leader[live] == live,
                ]))
        first += len(watch.chances)
    watch_of, total, source, kinds, begins = np.concatenate(pieces, axis=1)
    return _Entries(watch_of, total, source, kinds, begins.astype(bool))
