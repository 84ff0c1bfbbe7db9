"""What every signal, component and condition looks like under every hypothesis.

Signals are deterministic given the hypothesis: rules are tried in order, the first that matches
decides. An intermittent mode takes part in a trial with its chance; a row with such modes is then a
mixture of the rows that are left when they are not showing.
"""

from __future__ import annotations

from collections.abc import Sequence

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from graph.equipment import Equipment, Rule
from graph.hypotheses import Floats, Hypotheses, Ints

States = NDArray[np.uint8]
Bools = NDArray[np.bool_]


def signal_order(equipment: Equipment) -> list[str]:
    """Signals, parents before children."""
    parents: nx.DiGraph[str] = nx.DiGraph()
    parents.add_nodes_from(equipment.signals)
    for name, signal in equipment.signals.items():
        parents.add_edges_from((p, name) for r in signal.rules for p, _ in r.needs if p in equipment.signals)
    return list(nx.lexicographical_topological_sort(parents))


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


def trial_mixtures(equipment: Equipment, hypotheses: Hypotheses) -> tuple[Ints, Ints, Floats, Ints]:
    """How a single trial sees rows with intermittent modes.

    Returns (rows, shown, weight, kind): `rows` (n) hold an intermittent mode; in one trial row i looks like
    row `shown[i, a]` with chance `weight[i, a]`, for each way its modes can show or not. Rows of the same
    `kind` have the same weights.
    """
    shows = np.array([*(equipment.modes[m].shows for m in hypotheses.modes), 1.0])
    member_shows = shows[hypotheses.members]
    rows = np.flatnonzero((member_shows < 1).any(axis=1))
    size = hypotheses.members.shape[1]
    shown = np.empty((len(rows), 2**size), dtype=np.int64)
    weight = np.empty((len(rows), 2**size))
    members, chance = hypotheses.members[rows], member_shows[rows]
    for pattern in range(2**size):
        hidden = np.array([pattern >> slot & 1 for slot in range(size)], dtype=bool)
        weight[:, pattern] = np.where(hidden, 1 - chance, chance).prod(axis=1)
        left = np.where(hidden & (chance < 1), len(hypotheses.modes), members)
        left = np.sort(np.where(left < 0, len(hypotheses.modes), left), axis=1)
        left = np.where(left == len(hypotheses.modes), -1, left)
        shown[:, pattern] = hypotheses.rows_of(left, hypotheses.scene[rows], hypotheses.unlisted[rows])
    kind = np.unique(chance, axis=0, return_inverse=True)[1].reshape(-1)
    return rows, shown, weight, kind
