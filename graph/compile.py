"""From equipment to numpy: an immutable model that every request shares.

The mass of every pattern of every column is one sparse product, M = S p, and with it come the outcome
chances and the entropies of all observations. Only abnormal patterns are stored; the commonest is
the rest. Where the scene makes no difference, p is taken over fault sets.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from graph.classes import Classes, classes_of, remedy_classes
from graph.columns import Column, ColumnTable, Matrix, Patterns, PatternTable, Watch, alike_rows, indicator, repeated
from graph.equipment import Equipment
from graph.hypotheses import MOST_HYPOTHESES, Floats, Hypotheses, Ints, hypotheses_of
from graph.outcomes import Outcomes, outcomes_of
from graph.readings.cuts import cut

MarginalKind = Literal["modes", "components", "remedies", "parts"]


@dataclass(frozen=True, slots=True, eq=False)
class CompiledModel:
    """Everything a request needs, immutable.

    `patterns[col, i]` is the pattern of row i. `sums` times the pooled masses (`Hypotheses.pooled`) gives the
    masses of all P patterns, the commonest of each column (`normal_patterns`) left out (S), one spare zero and
    the sums that `classes` needs; `column_starts` is the offset of each column among the patterns. `climatic`
    are the observations of conditions that only shift rates. `gauges` are the watches with the cells of its reading
    (`readings.cuts`) for the outcomes of a test that has one, and `cells` what they show: gains rest on those.
    `lone_states[s, m]` are the state indices of the signals `signal_names` in scene s with mode m alone
    showing, the last row with none. `marginals[kind]` (names x N) sums rows into the `marginal_names` of
    that kind; `fixes` (remedies x N) marks the rows that a remedy, carried out alone, puts right.
    """

    equipment: Equipment
    hypotheses: Hypotheses
    columns: tuple[Column, ...]
    patterns: Patterns
    sums: Matrix
    column_starts: Ints
    normal_patterns: Ints
    watches: tuple[Watch, ...]
    by_id: dict[str, int]
    outcomes: Outcomes
    gauges: tuple[Watch, ...]
    cells: Outcomes
    climatic: tuple[int, ...]
    classes: Classes
    marginals: Mapping[MarginalKind, Matrix]
    marginal_names: Mapping[MarginalKind, tuple[str, ...]]
    fixes: Matrix
    needed_parts: tuple[tuple[tuple[str, int], ...], ...]
    needed_of_set: Ints
    without_shows: Floats
    signal_names: tuple[str, ...]
    lone_states: NDArray[np.uint8]

    @property
    def spare(self) -> int:
        """The number of patterns P, and the place of the spare zero after their masses."""
        return self.outcomes.told.shape[1] - 1

    @property
    def rows(self) -> int:
        """The number of hypotheses N."""
        return len(self.hypotheses.members)


def compile_model(equipment: Equipment, limit: int = MOST_HYPOTHESES) -> CompiledModel:
    """Compile an equipment whose document has been checked. Raises GraphTooLarge."""
    from scipy.sparse import vstack

    hypotheses = hypotheses_of(equipment, limit)
    build = ColumnTable(equipment, hypotheses)
    watches = _watches(equipment, hypotheses, build)
    columns = tuple(build.columns)
    widest = max((c.count for c in columns), default=1)
    table: Patterns = np.empty((len(columns), len(hypotheses.members)), dtype=np.uint8 if widest <= 256 else np.uint16)
    for row, column in zip(table, build.patterns, strict=True):
        row[:] = column
    patterns = PatternTable.of(table, hypotheses, columns)
    class_remedies, class_of_row = remedy_classes(equipment, hypotheses)
    needed, needed_of_set = _part_needs(equipment, class_remedies, class_of_row[hypotheses.examples])
    shows = np.array([*(equipment.modes[m].shows for m in hypotheses.modes), 0.0])
    gauges = _gauges(watches, columns)
    classes = classes_of(class_remedies, class_of_row, hypotheses, columns, patterns, gauges)
    first = np.array([c.first for c in columns], dtype=np.int64)
    pattern = np.repeat(first, np.diff(patterns.begins)) + patterns.shown
    abnormal = indicator([pattern], [patterns.place], None, (build.offset + 1, hypotheses.places))
    return CompiledModel(
        equipment=equipment,
        hypotheses=hypotheses,
        columns=columns,
        patterns=patterns.rows,
        sums=vstack([abnormal, classes.parts], format="csr"),
        column_starts=first,
        normal_patterns=np.array([c.first + c.normal for c in columns], dtype=np.int64),
        watches=watches,
        by_id={w.observation.id: i for i, w in enumerate(watches)},
        outcomes=outcomes_of(columns, watches, build.offset),
        gauges=gauges,
        cells=outcomes_of(columns, gauges, build.offset),
        climatic=tuple(i for i, w in enumerate(watches) if w.climate is not None),
        classes=classes,
        marginals=_marginals(equipment, hypotheses),
        marginal_names=marginal_names(equipment),
        fixes=_fixes(equipment, hypotheses),
        needed_parts=needed,
        needed_of_set=needed_of_set,
        without_shows=(1 - shows)[hypotheses.members].prod(axis=1) * ~hypotheses.unlisted,
        signal_names=tuple(equipment.signals),
        lone_states=_lone_states(equipment, hypotheses, build),
    )


def _watches(equipment: Equipment, hypotheses: Hypotheses, build: ColumnTable) -> tuple[Watch, ...]:
    """The watch of every observation, adding to `build` the columns that they read."""
    watches: list[Watch] = []
    first = 0
    for observation in equipment.observations.values():
        chances = np.array(observation.chances)
        if observation.reveals in hypotheses.climates.names:
            states = hypotheses.climates.states[:, hypotheses.climates.names.index(observation.reveals)]
            watches.append(Watch.of(observation, -1, chances, first, states))
        else:
            number = build.of(observation)
            column = build.columns[number]
            full = np.zeros((column.count, chances.shape[1]))
            full[: len(column.mix)] = repeated(column.mix, column.rest, observation.repeats) @ chances
            watches.append(Watch.of(observation, number, full, first))
        first += chances.shape[1]
    return tuple(watches)


def _lone_states(equipment: Equipment, hypotheses: Hypotheses, build: ColumnTable) -> NDArray[np.uint8]:
    count, scenes = len(hypotheses.modes), len(hypotheses.scenes.shares)
    table = np.zeros((scenes, count + 1, len(equipment.signals)), dtype=np.uint8)
    lone = (hypotheses.members[:, 1:] < 0).all(axis=1) & ~hypotheses.unlisted
    rows = np.flatnonzero(lone)
    for column, name in enumerate(equipment.signals):
        table[hypotheses.scene[rows], hypotheses.members[rows, 0], column] = build.states.table[name][rows]
    for scene in range(scenes):
        absent = np.ones(count + 1, dtype=bool)
        absent[hypotheses.members[rows[hypotheses.scene[rows] == scene], 0]] = False
        table[scene, absent] = table[scene, -1]
    return table


def _gauges(watches: Sequence[Watch], columns: Sequence[Column]) -> tuple[Watch, ...]:
    """The watches, those of readings with the cells that the number falls in."""
    gauges: list[Watch] = []
    first = 0
    for watch in watches:
        reading = watch.observation.reading
        if reading is not None:
            chances = cut(reading)
            if watch.climate is None:
                column = columns[watch.column]
                full = np.zeros((column.count, chances.shape[1]))
                full[: len(column.mix)] = column.mix @ chances
                chances = full
            gauges.append(replace(watch, chances=chances, first=first, alike=alike_rows(chances)))
        else:
            gauges.append(replace(watch, first=first))
        first += gauges[-1].chances.shape[1]
    return tuple(gauges)


def _marginals(equipment: Equipment, hypotheses: Hypotheses) -> dict[MarginalKind, Matrix]:
    """0/1 matrices (names x N): mode present, component not right, usual remedy called for, part needed."""
    usual = [equipment.remedies[equipment.modes[m].remedies[0]] for m in hypotheses.modes]
    tables = (equipment.components, equipment.remedies, equipment.parts)
    place = {name: i for table in tables for i, name in enumerate(table)}
    links: dict[MarginalKind, list[list[int]]] = {
        "modes": [[i] for i in range(len(hypotheses.modes))],
        "components": [[place[equipment.modes[m].component]] for m in hypotheses.modes],
        "remedies": [[place[r.id]] for r in usual],
        "parts": [[place[p] for p, _ in r.parts] for r in usual],
    }
    return {
        kind: _incidence(links[kind], len(names), hypotheses)
        for kind, names in marginal_names(equipment).items()
    }


def _incidence(links: Sequence[Sequence[int]], names: int, hypotheses: Hypotheses) -> Matrix:
    """Which rows have a mode that links to each name."""
    width = max(1, *map(len, links))
    table = np.array([[*row, *[-1] * (width - len(row))] for row in links] + [[-1] * width])
    targets = table[hypotheses.members].reshape(len(hypotheses.members), -1)
    row, slot = np.nonzero(targets >= 0)
    matrix = indicator([targets[row, slot]], [row], None, (names, len(targets)))
    matrix.data[:] = 1.0
    return matrix


def marginal_names(equipment: Equipment) -> dict[MarginalKind, tuple[str, ...]]:
    """The names that each matrix of `CompiledModel.marginals` has as rows."""
    return {
        "modes": tuple(equipment.modes), "components": tuple(equipment.components),
        "remedies": tuple(equipment.remedies), "parts": tuple(equipment.parts),
    }


def _fixes(equipment: Equipment, hypotheses: Hypotheses) -> Matrix:
    """Rows that a remedy puts right (remedies x N): all modes of the row have it among their remedies."""
    number = {remedy: i for i, remedy in enumerate(equipment.remedies)}
    choices = [[number[r] for r in equipment.modes[m].remedies] for m in hypotheses.modes]
    width = max(map(len, choices), default=0)
    table = np.array([*([*row, *[-1] * (width - len(row))] for row in choices), [-1] * width], dtype=np.int64)
    able = np.zeros((len(table), len(number) + 1), dtype=bool)
    able[np.arange(len(table))[:, None], table] = True
    able[-1] = True
    remedies, rows = [], []
    for remedy in table[hypotheses.members[:, 0]].T:
        fixed = remedy >= 0
        for members in hypotheses.members.T[1:]:
            fixed &= able[members, remedy]
        rows.append(np.flatnonzero(fixed))
        remedies.append(remedy[rows[-1]])
    return indicator(remedies, rows, None, (len(number), len(hypotheses.members)))


def _part_needs(
    equipment: Equipment, class_remedies: Sequence[tuple[str, ...]], class_of_set: Ints
) -> tuple[tuple[tuple[tuple[str, int], ...], ...], Ints]:
    """Distinct lists of (part, quantity) that a repair needs, and which one each fault set needs."""
    needs: dict[tuple[tuple[str, int], ...], int] = {}
    of_class = []
    for remedies in class_remedies:
        quantity: dict[str, int] = {}
        for remedy in remedies:
            for part, count in equipment.remedies[remedy].parts:
                quantity[part] = quantity.get(part, 0) + count
        of_class.append(needs.setdefault(tuple(sorted(quantity.items())), len(needs)))
    return tuple(needs), np.array(of_class)[class_of_set]
