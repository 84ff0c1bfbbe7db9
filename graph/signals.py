"""What every signal, component and condition looks like under every hypothesis.

Signals are deterministic given the hypothesis: rules are tried in order, the first that matches
decides. An intermittent mode takes part in a trial with its chance; a row with such modes is then a
mixture of the rows that are left when they are not showing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from graphlib import TopologicalSorter

import numpy as np
from numpy.typing import NDArray

from graph.equipment import Equipment, Rule
from graph.hypotheses import Floats, Hypotheses, Ints

States = NDArray[np.uint8]
Bools = NDArray[np.bool_]


def signal_order(equipment: Equipment) -> list[str]:
    """Signals, parents before children."""
    return list(TopologicalSorter({
        name: sorted({p for r in signal.rules for p, _ in r.needs if p in equipment.signals})
        for name, signal in sorted(equipment.signals.items())
    }).static_order())


class StateTable:
    """State index of each signal, component and structural condition in each row.

    `table[name]` has one uint8 a row: an index into `equipment.states_of(name)`, all faults showing.
    """

    def __init__(self, equipment: Equipment, hypotheses: Hypotheses) -> None:
        self.equipment = equipment
        self.hypotheses = hypotheses
        self.rows = len(hypotheses.members)
        self.table: dict[str, States] = {}
        self._holders = _rows_of_modes(hypotheses)
        for column, name in enumerate(hypotheses.scenes.names):
            self.table[name] = hypotheses.scenes.states[hypotheses.scene, column].astype(np.uint8)
        for component in equipment.components.values():
            states = np.full(self.rows, len(component.modes), dtype=np.uint8)
            for position in range(len(component.modes) - 1, -1, -1):
                states[self._holders[component.modes[position]]] = position
            self.table[component.id] = states
        for name in signal_order(equipment):
            self.table[name] = self._signal(name)

    def _signal(self, name: str) -> States:
        signal = self.equipment.signals[name]
        last = max(i for i, r in enumerate(signal.rules) if r.is_default)
        states = np.full(self.rows, signal.states.index(signal.rules[last].state), dtype=np.uint8)
        for rule in reversed(signal.rules[:last]):
            self._apply(rule, signal.states.index(rule.state), states)
        return states

    def _apply(self, rule: Rule, state: int, states: States) -> None:
        """Set `states` to `state` where the rule matches."""
        if not rule.needs and not rule.all_faults:
            for mode in rule.any_fault:
                states[self._holders[mode]] = state
            return
        match: Bools = np.ones(self.rows, dtype=bool)
        for need, wanted in rule.needs:
            match &= self._is(need, wanted)
        if rule.any_fault:
            match &= self._any(rule.any_fault)
        for mode in rule.all_faults:
            match &= self._any((mode,))
        states[match] = state

    def _is(self, name: str, wanted: Sequence[str]) -> Bools:
        known = self.equipment.states_of(name)
        indices = [known.index(s) for s in wanted]
        states = self.table[name]
        match: Bools = states == indices[0]
        for index in indices[1:]:
            match |= states == index
        return match

    def _any(self, modes: Sequence[str]) -> Bools:
        match: Bools = np.zeros(self.rows, dtype=bool)
        for mode in modes:
            match[self._holders[mode]] = True
        return match


def _rows_of_modes(hypotheses: Hypotheses) -> dict[str, Ints]:
    """The rows that hold each mode."""
    row, slot = np.nonzero(hypotheses.members >= 0)
    mode = hypotheses.members[row, slot]
    order = np.argsort(mode, kind="stable")
    edges = np.searchsorted(mode[order], np.arange(len(hypotheses.modes) + 1))
    return {m: row[order[edges[i]: edges[i + 1]]] for i, m in enumerate(hypotheses.modes)}


@dataclass(frozen=True, slots=True, eq=False)
class Mixture:
    """How a single trial sees rows with a certain number j of intermittent modes.

    In one trial the row `rows[i]` (n) looks like row `shown[a, i]` with chance `weight[a, i]` (2^j x n): the modes
    of the bits of a are hidden, so that all of them are in the last. Rows of the same `kind` have the same weights.
    """

    rows: Ints
    shown: Ints
    weight: Floats
    kind: Ints


def trial_mixtures(equipment: Equipment, hypotheses: Hypotheses) -> list[Mixture]:
    """The rows with intermittent modes, by the number of these."""
    shows = np.array([*(equipment.modes[m].shows for m in hypotheses.modes), 1.0])
    none = len(hypotheses.modes)
    now_and_then = (shows < 1)[hypotheses.members]
    count = now_and_then.sum(axis=1)
    mixtures = []
    for number in range(1, int(count.max(initial=0)) + 1):
        rows = np.flatnonzero(count == number)
        members = hypotheses.members[rows]
        at = np.nonzero(now_and_then[rows])[1].reshape(len(rows), number)
        chance = shows[np.take_along_axis(members, at, axis=1)]
        shown = np.empty((2**number, len(rows)), dtype=np.int64)
        weight = np.empty((2**number, len(rows)))
        for pattern in range(2**number):
            hidden = np.array([pattern >> bit & 1 for bit in range(number)], dtype=bool)
            weight[pattern] = np.where(hidden, 1 - chance, chance).prod(axis=1)
            left = np.where(members < 0, none, members)
            np.put_along_axis(left, at[:, hidden], none, axis=1)
            left.sort(axis=1)
            left[left == none] = -1
            shown[pattern] = hypotheses.rows_of(left, hypotheses.scene[rows], hypotheses.unlisted[rows])
        kind = np.unique(chance, axis=0, return_inverse=True)[1].reshape(-1)
        mixtures.append(Mixture(rows, shown, weight, kind))
    return mixtures
