"""The single thing that would tell an ambiguity group apart best, and how much it would tell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from graph.ambiguity import lone_rows
from graph.columns import entropy_rows
from graph.compile import CompiledModel
from graph.hypotheses import Floats, sums_by
from graph.testability.answers import Split
from graph.testability.isolation import FaultGroup

TOO_LITTLE = 1e-6
"""Bits up to which nothing is told apart."""
BITS = float(np.log(2))


def best_split(model: CompiledModel, group: FaultGroup, missing: Mapping[str, tuple[str, ...]]) -> Split | None:
    """The test that the crew lacks something for, else the signal, that tells most within the group (ties by id).

    `missing` says what the crew lacks for each observation.
    """
    return _best_test(model, group, missing) or _best_signal(model, group)


def _best_test(model: CompiledModel, group: FaultGroup, missing: Mapping[str, tuple[str, ...]]) -> Split | None:
    place = dict(zip(model.hypotheses.members[rows := lone_rows(model, group.scene), 0].tolist(), rows, strict=True))
    rows = np.array([place[m] for m in group.modes])
    found = []
    for watch in model.watches:
        lacking = missing[watch.observation.id]
        if not lacking or watch.column < 0:
            continue
        chances = watch.chances[model.patterns[watch.column, rows]]
        bits = _told(model, group, chances) if (chances.sum(axis=1) > 0.5).all() else 0.0
        if bits > TOO_LITTLE:
            found.append(Split("test", watch.observation.id, watch.observation.title, lacking, bits))
    return min(found, key=lambda s: (-round(s.bits, 9), s.name), default=None)


def _best_signal(model: CompiledModel, group: FaultGroup) -> Split | None:
    found = []
    for number, name in enumerate(model.signal_names):
        states = model.lone_states[group.scene, list(group.modes), number]
        bits = _told(model, group, np.eye(int(states.max()) + 1)[states])
        if bits > TOO_LITTLE:
            found.append(Split("signal", name, model.equipment.signals[name].title, (), bits))
    return min(found, key=lambda s: (-round(s.bits, 9), s.name), default=None)


def _told(model: CompiledModel, group: FaultGroup, chances: Floats) -> float:
    """What outcomes with these chances (modes x outcomes) tell within the group, bits."""
    weights = np.array(group.calls) / group.mass
    usual = [model.equipment.modes[model.hypotheses.modes[m]].remedies[0] for m in group.modes]
    kinds = usual if len(set(usual)) > 1 else [str(m) for m in group.modes]
    names = sorted(set(kinds))
    joint = np.zeros((len(names), chances.shape[1]))
    np.add.at(joint, [names.index(k) for k in kinds], weights[:, None] * chances)
    flat = entropy_rows(joint.reshape(1, -1))[0]
    return float(entropy_rows(joint.sum(axis=0)[None])[0] + entropy_rows(joint.sum(axis=1)[None])[0] - flat) / BITS


def mistaken(model: CompiledModel, group: FaultGroup) -> float:
    """The calls of a group that its best single repair would not put right, as a share of single faults."""
    return group.mass - max(_put_right(model, group).values(), default=0.0)


def one_repair(model: CompiledModel, group: FaultGroup) -> bool:
    """Whether one repair puts all modes of a group right."""
    return mistaken(model, group) < TOO_LITTLE * group.mass


def _put_right(model: CompiledModel, group: FaultGroup) -> dict[str, float]:
    remedies = [model.equipment.modes[model.hypotheses.modes[m]].remedies for m in group.modes]
    names = sorted({r for some in remedies for r in some})
    owners = [(names.index(r), calls) for some, calls in zip(remedies, group.calls, strict=True) for r in some]
    sums = sums_by(np.array([i for i, _ in owners]), np.array([c for _, c in owners]), len(names))
    return dict(zip(names, sums.tolist(), strict=True))


def merged(groups: Sequence[FaultGroup]) -> list[FaultGroup]:
    """Groups of the same modes in several scenes as one, in the scene in which most of its calls come."""
    alike: dict[tuple[int, ...], list[FaultGroup]] = {}
    for group in groups:
        alike.setdefault(group.modes, []).append(group)
    return [
        FaultGroup(
            max(some, key=lambda g: g.mass).scene, modes,
            tuple(sum(g.calls[i] for g in some) for i in range(len(modes))), all(g.detected for g in some),
        )
        for modes, some in alike.items()
    ]
