"""The equipment as a directed graph of typed nodes and edges, and the paths a fault takes through it.

Edges: component *fails as* mode, mode *acts on* signal, signal or condition *drives* signal, signal
*shows as* symptom, test *reveals* signal, component or condition, remedy *fixes* mode, remedy *uses* part.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from graph.compile import CompiledModel
from graph.equipment import Equipment

if TYPE_CHECKING:
    import networkx as nx

Node = str


@lru_cache(maxsize=64)
def structure(equipment: Equipment) -> nx.DiGraph[Node]:
    """The whole graph; every node has `kind` and `title`, every edge `kind`."""
    import networkx as nx  # slow to import, and only asked for where the whole graph is

    net: nx.DiGraph[Node] = nx.DiGraph(name=equipment.id)
    for kind, table in (
        ("component", equipment.components), ("failure_mode", equipment.modes), ("signal", equipment.signals),
        ("condition", equipment.conditions), ("remedy", equipment.remedies), ("part", equipment.parts),
    ):
        for name, record in table.items():
            net.add_node(name, kind=kind, title=getattr(record, "title"))  # noqa: B009 (tables of several types)
    for observation in equipment.observations.values():
        net.add_node(observation.id, kind=observation.kind, title=observation.title)
        if observation.kind == "symptom":
            net.add_edge(observation.reveals, observation.id, kind="shows as")
        else:
            net.add_edge(observation.id, observation.reveals, kind="reveals")
    for mode in equipment.modes.values():
        net.add_edge(mode.component, mode.id, kind="fails as")
        for remedy in mode.remedies:
            net.add_edge(remedy, mode.id, kind="fixes")
    for cause, signal_id, kind in _causes(equipment):
        net.add_edge(cause, signal_id, kind=kind)
    for remedy_id, record in equipment.remedies.items():
        for part, quantity in record.parts:
            net.add_edge(remedy_id, part, kind="uses", quantity=quantity)
    return net


def _causes(equipment: Equipment) -> Iterator[tuple[Node, Node, str]]:
    """What each rule of a signal names: the cause, the signal, and how it is called."""
    for signal in equipment.signals.values():
        for rule in signal.rules:
            for mode in (*rule.any_fault, *rule.all_faults):
                yield mode, signal.id, "acts on"
            for name, states in rule.needs:
                if name in equipment.components:
                    for state in states:
                        if f"{name}.{state}" in equipment.modes:
                            yield f"{name}.{state}", signal.id, "acts on"
                else:
                    yield name, signal.id, "drives"


def node_link(equipment: Equipment) -> dict[str, Any]:
    """The graph as node-link data: `nodes` and `edges`, plain values only."""
    import networkx as nx

    data: dict[str, Any] = nx.node_link_data(structure(equipment), edges="edges")
    return data


@lru_cache(maxsize=64)
def causal(equipment: Equipment) -> dict[Node, tuple[Node, ...]]:
    """For each mode and signal, the signals it acts on or drives, sorted."""
    found: dict[Node, set[Node]] = {node: set() for node in (*equipment.modes, *equipment.signals)}
    for cause, signal, _ in _causes(equipment):
        if cause in found:
            found[cause].add(signal)
    return {node: tuple(sorted(signals)) for node, signals in found.items()}


def fault_path(model: CompiledModel, mode: str, target: str, scene: int) -> tuple[tuple[str, str], ...]:
    """The shortest way a fault alone disturbs `target`: (signal, its state) pairs, target last.

    Empty where the fault leaves the target as it should be, or where the target is the component.
    """
    equipment = model.equipment
    if target not in equipment.signals:
        return ()
    names = model.signal_names
    states = model.lone_states[scene, model.hypotheses.modes.index(mode)]
    sound: NDArray[np.uint8] = model.lone_states[scene, -1]
    disturbed = {n for n, a, b in zip(names, states.tolist(), sound.tolist(), strict=True) if a != b}
    if target not in disturbed:
        return ()
    step = causal(equipment)
    trail: dict[str, str] = {}
    front = [mode]
    while front and target not in trail:
        following = []
        for node in front:
            for child in step[node]:
                if child in disturbed and child not in trail:
                    trail[child] = node
                    following.append(child)
        front = following
    if target not in trail:
        return ()
    path, node = [], target
    while node != mode:
        path.append((node, equipment.signals[node].states[states[names.index(node)]]))
        node = trail[node]
    return tuple(reversed(path))
