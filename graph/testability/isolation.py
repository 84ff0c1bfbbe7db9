"""Faults detected and isolated: single faults, by a given set of observations.

A fault is detected where some observation has other outcome chances than on a sound machine, and isolated to a group
of so many where these chances are the same for no more than so many faults (fraction of faults detected and isolated
in the sense of IEEE 1522 and MIL-STD-2165; the formulas are from memory). Isolation counts among the detected ones.
Faults count with their rates and, beside that, once each; one that only some states of the conditions allow counts
with the share of its calls that they have.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass

import numpy as np

from graph.ambiguity import SOUND, lone_rows, signatures
from graph.compile import CompiledModel
from graph.hypotheses import Floats, sums_by
from graph.testability.answers import Share


@dataclass(frozen=True, slots=True)
class FaultGroup:
    """Failure modes (by number) with one signature in a scene, and the calls (share of all single faults) of each."""

    scene: int
    modes: tuple[int, ...]
    calls: tuple[float, ...]
    detected: bool

    @property
    def mass(self) -> float:
        """The calls of all of them."""
        return sum(self.calls)


@dataclass(frozen=True, slots=True, eq=False)
class Isolation:
    """All groups of all scenes; `usual` (M) is the share of the calls of each failure mode."""

    groups: tuple[FaultGroup, ...]
    usual: Floats

    def detected(self) -> Share:
        """The fraction of faults detected."""
        return self._share(lambda g: g.detected, lambda g: True)

    def isolated(self, most: int) -> Share:
        """The fraction of detected faults in groups of at most `most`."""
        return self._share(lambda g: len(g.modes) <= most, lambda g: g.detected)

    def share_of(self, chosen: Callable[[FaultGroup], bool]) -> Share:
        """The fraction of detected faults in chosen groups."""
        return self._share(chosen, lambda g: g.detected)

    def unseen(self) -> tuple[int, ...]:
        """The failure modes that are never detected."""
        seen = {m for g in self.groups if g.detected for m in g.modes}
        return tuple(m for m in range(len(self.usual)) if m not in seen)

    def _share(self, chosen: Callable[[FaultGroup], bool], among: Callable[[FaultGroup], bool]) -> Share:
        """Chosen groups among some, by rate and by count; 1 where there are none."""
        sums = {True: [0.0, 0.0], False: [0.0, 0.0]}
        for group in self.groups:
            if among(group):
                of = sums[bool(chosen(group))]
                of[0] += group.mass
                of[1] += sum(c / self.usual[m] for m, c in zip(group.modes, group.calls, strict=True))
        rate, count = (sums[True][i] / total if (total := sums[True][i] + sums[False][i]) else 1.0 for i in (0, 1))
        return Share(float(rate), float(count))


def isolation(model: CompiledModel, names: Collection[str]) -> Isolation:
    """How the named observations detect and isolate the single faults of a model."""
    hypotheses = model.hypotheses
    mass = hypotheses.prior.sum(axis=1)
    scenes = range(len(hypotheses.scenes.shares))
    alone = [rows[hypotheses.members[rows, 0] >= 0] for rows in (lone_rows(model, scene) for scene in scenes)]
    every = np.concatenate(alone)
    usual = sums_by(hypotheses.members[every, 0], mass[every], len(hypotheses.modes))
    total = float(usual.sum()) or 1.0
    found: list[FaultGroup] = []
    for scene, rows in zip(scenes, alone, strict=True):
        calls = dict(zip(hypotheses.members[rows, 0].tolist(), (mass[rows] / total).tolist(), strict=True))
        marks = signatures(model, names, scene)
        groups: dict[bytes, list[int]] = {}
        for mode, share in calls.items():
            if share > 0:
                groups.setdefault(marks[mode], []).append(mode)
        found += [
            FaultGroup(scene, tuple(modes), tuple(calls[m] for m in modes), mark != marks[SOUND])
            for mark, modes in groups.items()
        ]
    return Isolation(tuple(found), usual / total)
