"""Columns: what can be observed, as one small integer a hypothesis.

An observation depends on a hypothesis only through the *pattern* of the column it reads: the
distribution over the revealed states in one trial.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from graph.equipment import Equipment, Observation, Requirement
from graph.hypotheses import Floats, Hypotheses, Ints
from graph.signals import Bools, StateTable, trial_mixtures

if TYPE_CHECKING:
    from scipy.sparse import csr_array

Matrix: TypeAlias = "csr_array"
Patterns = NDArray[np.unsignedinteger]
ColumnKey = tuple[str, bool, tuple[Requirement, ...]]


@dataclass(frozen=True, slots=True, eq=False)
class Column:
    """One thing observed in one way: patterns are rows of `mix`, then (maybe) two special ones.

    `mix[k]` is the distribution over the revealed states of pattern k in one trial, `rest[k]` the state
    while no intermittent mode shows. `unlisted` is the pattern of
    the cause outside the graph (None for conditions, which it leaves as they are); `foreign` that of
    scenes in which the observation can't be made. `first` is the column's offset among all patterns
    and `normal` its commonest pattern.
    """

    name: str
    mix: Floats
    rest: Ints
    unlisted: int | None
    foreign: int | None
    count: int
    first: int
    normal: int


@dataclass(frozen=True, slots=True, eq=False)
class Watch:
    """An observation with its column; `chances[k, o]` is P(outcome o | pattern k), special rows 0.

    One outcome stands for the observation done as its document says: all its `repeats`.

    `first` is the offset of its outcomes among all outcomes; `alike[k]` is the first pattern that has the
    chances of pattern k, and `outcomes` the number of each outcome by its name. A condition that only shifts rates has
    no column: `climate` then gives, for each climate, the row of `chances` (a state).
    """

    observation: Observation
    column: int
    chances: Floats
    first: int
    alike: Ints
    outcomes: Mapping[str, int]
    climate: Ints | None = None

    @classmethod
    def of(
        cls, observation: Observation, column: int, chances: Floats, first: int, climate: Ints | None = None
    ) -> Watch:
        """An observation that reads a column (-1: none) with these chances."""
        numbers = {o.id: i for i, o in enumerate(observation.outcomes)}
        return cls(observation, column, chances, first, alike_rows(chances), numbers, climate)


@dataclass(frozen=True, slots=True, eq=False)
class PatternTable:
    """The pattern of every column: `rows[c, i]` in row i (C x N), `sets[c, d]` of fault set d (C x F).

    `pooled[c]` says that the scene makes no difference to column c, so that `sets` is enough. Column c shows
    another pattern than its commonest at the pooled masses `place` from `begins[c]` to `begins[c + 1]`,
    namely `shown`.
    """

    rows: Patterns
    sets: Patterns
    pooled: Bools
    begins: Ints
    place: Ints
    shown: Ints

    @classmethod
    def of(cls, patterns: Patterns, hypotheses: Hypotheses, columns: Sequence[Column]) -> PatternTable:
        """The table of given patterns, shape (C, N)."""
        if hypotheses.one_scene:
            sets, pooled = patterns, np.ones(len(patterns), dtype=bool)
        else:
            sets = patterns[:, hypotheses.examples]
            pooled = (sets[:, hypotheses.fault_set] == patterns).all(axis=1)
        places, shown, begins = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)], [0]
        for number, column in enumerate(columns):
            table = (sets if pooled[number] else patterns)[number]
            place = np.flatnonzero(table != column.normal)
            places.append(place if pooled[number] else place + sets.shape[1])
            shown.append(table[place].astype(np.int64))
            begins.append(begins[-1] + len(place))
        return cls(patterns, sets, pooled, np.array(begins), np.concatenate(places), np.concatenate(shown))

    def at(self, column: Ints, place: Ints) -> Ints:
        """The pattern of given columns at given pooled masses, which must be of the kind they are read by."""
        count = self.sets.shape[1]
        if self.pooled.all():
            return self.sets[column, place].astype(np.int64)
        in_rows = place >= count
        patterns = np.empty(len(place), dtype=np.int64)
        patterns[in_rows] = self.rows[column[in_rows], place[in_rows] - count]
        patterns[~in_rows] = self.sets[column[~in_rows], place[~in_rows]]
        return patterns


class ColumnTable:
    """Builds the columns that the observations read, each once."""

    def __init__(self, equipment: Equipment, hypotheses: Hypotheses) -> None:
        self.equipment = equipment
        self.hypotheses = hypotheses
        self.states = StateTable(equipment, hypotheses)
        self.mixtures = trial_mixtures(equipment, hypotheses)
        self.index: dict[ColumnKey, int] = {}
        self.columns: list[Column] = []
        self.patterns: list[Patterns] = []
        self.offset = 0

    def of(self, observation: Observation) -> int:
        """The column index of what an observation reveals."""
        key = (observation.reveals, observation.sees_intermittent, observation.only_if)
        if key not in self.index:
            self.index[key] = len(self.columns)
            self._add(*key)
        return self.index[key]

    def _add(self, name: str, at_rest: bool, only_if: tuple[Requirement, ...]) -> None:
        known = len(self.equipment.states_of(name))
        pattern = self.states.table[name].astype(np.int64)
        mix, rest = np.eye(known), np.arange(known)
        if not at_rest and name not in self.equipment.conditions:
            pattern, mix, rest = self._mixed(pattern, mix, rest)
        count = len(mix)
        unlisted = foreign = None
        if name not in self.equipment.conditions:
            unlisted, count = count, count + 1
            pattern[self.hypotheses.unlisted] = unlisted
        if only_if:
            foreign, count = count, count + 1
            fits = self.hypotheses.scenes.matching(self.equipment, only_if)
            pattern[~fits[self.hypotheses.scene]] = foreign
        normal = int(np.bincount(pattern, minlength=count).argmax())
        self.columns.append(Column(name, mix, rest, unlisted, foreign, count, self.offset, normal))
        self.patterns.append(pattern.astype(np.uint8 if count <= 256 else np.uint16))
        self.offset += count

    def _mixed(self, pattern: Ints, mix: Floats, rest: Ints) -> tuple[Ints, Floats, Ints]:
        """Patterns, mixtures and states at rest, with intermittent modes showing only now and then."""
        rows, spreads, which, found = [], [], [], 0
        for mixture in self.mixtures:
            states = pattern[mixture.shown]
            varied = np.flatnonzero((states[1:] != states[0]).any(axis=0))
            if not len(varied):
                continue
            states = states[:, varied]
            key = mixture.kind[varied]
            for shown in states:
                key = key * len(mix) + shown
            _, example, kinds = np.unique(key, return_index=True, return_inverse=True)
            spread = np.zeros((len(example), len(mix) + 1))
            for shown, weight in zip(states[:, example], mixture.weight[:, varied[example]], strict=True):
                spread[np.arange(len(example)), shown] += weight
            spread[:, -1] = states[-1, example]
            rows.append(mixture.rows[varied])
            spreads.append(spread)
            which.append(kinds.reshape(-1) + found)
            found += len(example)
        if not rows:
            return pattern, mix, rest
        spread = np.concatenate(spreads)
        first, inverse = np.unique(alike_rows(spread), return_inverse=True)
        pattern[np.concatenate(rows)] = len(mix) + inverse[np.concatenate(which)]
        mixed, at_rest = spread[first, :-1], spread[first, -1].astype(np.int64)
        return pattern, np.concatenate([mix, mixed]), np.concatenate([rest, at_rest])


def repeated(mix: Floats, rest: Ints, times: int) -> Floats:
    """What `times` trials show at least once: the rest state only if every trial shows it.

    With one intermittent mode of chance p: 1 - (1 - p)^times for its state (success-run).
    """
    if times == 1:
        return mix
    stays = mix[np.arange(len(mix)), rest]
    varied = (stays > 0) & (stays < 1)
    shown = np.where(varied, (1 - stays**times) / np.where(varied, 1 - stays, 1.0), 1.0)
    result = mix * shown[:, None]
    result[np.arange(len(mix)), rest] = np.where(varied, stays**times, stays)
    return np.asarray(result, dtype=np.float64)


def alike_rows(chances: Floats) -> Ints:
    """The first row that each row is equal to, to twelve digits."""
    first: dict[bytes, int] = {}
    rows = np.rint(chances * 1e12)
    return np.array([first.setdefault(row.tobytes(), i) for i, row in enumerate(rows)], dtype=np.int64)


def entropy_rows(chances: Floats) -> Floats:
    """Entropy in nats of each row."""
    safe = np.where(chances > 0, chances, 1.0)
    return np.asarray(-(chances * np.log(safe)).sum(axis=-1), dtype=np.float64)


def indicator(
    rows: Sequence[Ints], cols: Sequence[Ints], data: Sequence[Floats] | None, shape: tuple[int, int]
) -> Matrix:
    """A sparse matrix from pieces of coordinates; ones where there are no data."""
    empty: list[Ints] = [np.zeros(0, dtype=np.int64)]
    row = np.concatenate([*empty, *rows]).astype(np.int32)
    col = np.concatenate([*empty, *cols]).astype(np.int32)
    values = np.ones(len(row)) if data is None else np.concatenate([np.zeros(0), *data])
    from scipy.sparse import csr_array  # slow to import, and first needed when a graph is compiled

    matrix = csr_array((values, (row, col)), shape=shape)
    matrix.sort_indices()
    return matrix


