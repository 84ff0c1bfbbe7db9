"""What the rules look at: a compiled model, and what each observation shows of each failure mode on its own."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from graph.compile import CompiledModel
from graph.equipment import Equipment, Observation, Remedy
from graph.hypotheses import Floats, Ints
from graph.signals import StateTable

SEEN = 0.1
"""An observation shows a failure mode if it moves so much of the chance of its outcomes."""


class Subject:
    """One document under the eyes of the rules; what several of them need is worked out once.

    `rows` (R) are the rows of the model that can occur with one failure mode or none, `mode` (R) the number of that
    mode, -1 for none, `scene` (R) the joint state of the conditions that signals or tests depend on, and `sound_row`
    (R) the place of the row without failure in the same scene.
    """

    def __init__(self, model: CompiledModel) -> None:
        self.model = model
        self.equipment: Equipment = model.equipment
        hypotheses = model.hypotheses
        lone = (hypotheses.members[:, 1:] < 0).all(axis=1) & ~hypotheses.unlisted
        none = hypotheses.members[:, 0] < 0
        possible = hypotheses.prior.sum(axis=1) > 0
        scene_possible = hypotheses.scenes.shares[hypotheses.scene] > 0
        self.rows: Ints = np.flatnonzero(lone & (possible | (none & scene_possible)))
        self.mode: Ints = hypotheses.members[self.rows, 0]
        self.scene: Ints = hypotheses.scene[self.rows]
        sound = {int(s): i for i, (m, s) in enumerate(zip(self.mode, self.scene, strict=True)) if m < 0}
        self.sound_row: Ints = np.array([sound[int(s)] for s in self.scene], dtype=np.int64)

    @cached_property
    def looks(self) -> dict[str, Floats]:
        """The chances of each observation's outcomes, or of the cells of its reading, in each of `rows` (R x O).

        Rows in which it can't be made are zeros; observations of conditions that only shift rates are left out.
        """
        model = self.model
        return {
            g.observation.id: g.chances[model.patterns[g.column][self.rows]] for g in model.gauges if g.climate is None
        }

    @cached_property
    def shows(self) -> dict[str, Floats]:
        """How much of the chance of an observation's outcomes each failure mode moves (M), between 0 and 1.

        The total variation distance from the same machine without failure, in the scene where it is largest.
        """
        found = {}
        for name, chances in self.looks.items():
            moved = 0.5 * np.abs(chances - chances[self.sound_row]).sum(axis=1)
            most = np.zeros(len(self.equipment.modes))
            faulty = self.mode >= 0
            np.maximum.at(most, self.mode[faulty], moved[faulty])
            found[name] = most
        return found

    @cached_property
    def mode_number(self) -> dict[str, int]:
        """The number of each failure mode."""
        return {mode: i for i, mode in enumerate(self.model.hypotheses.modes)}

    @cached_property
    def reachable(self) -> dict[str, set[str]]:
        """The states of each signal that one failure mode or none brings about."""
        table = StateTable(self.equipment, self.model.hypotheses).table
        return {
            name: {signal.states[i] for i in np.unique(table[name][self.rows]).tolist()}
            for name, signal in self.equipment.signals.items()
        }

    @cached_property
    def used_conditions(self) -> set[str]:
        """The conditions that something depends on: a rate, a failure mode, a signal or a test."""
        e = self.equipment
        used = {name for m in e.modes.values() for name, _, _ in m.raised_by}
        used |= {name for m in e.modes.values() for name, _ in m.only_if}
        used |= {name for o in e.observations.values() for name, _ in o.only_if}
        return used | {name for s in e.signals.values() for r in s.rules for name, _ in r.needs if name in e.conditions}

    def open_guards(self, job: Observation | Remedy) -> list[str]:
        """The guards that must be off for a job."""
        units = self.equipment.unit_states
        return [name for name, state in job.needs if units[name].guards and state != units[name].usual]

    def locked_out(self, job: Observation | Remedy) -> bool:
        """Whether a job is done with the supply locked out."""
        return any(self.equipment.unit_states[name].lockout == state for name, state in job.needs)
