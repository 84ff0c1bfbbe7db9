"""Every job from every state that the unit can be in: minutes, money, the state it leaves, evidence destroyed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np

from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.equipment import Equipment, Observation, Remedy
from graph.evidence import Finding
from graph.hypotheses import Floats, Ints
from graph.policy.ranking import goods_price
from graph.signals import Bools
from graph.workload import lacking_parts, unit_now, workload

MOST_STATES = 256
"""States of the unit beyond which switching is priced from the present one alone."""

UnitState = tuple[tuple[str, str], ...]


@dataclass(frozen=True, eq=False)
class WorkTable:
    """All A jobs (observations in the model's order, then remedies) from U states of the unit.

    `states[0]` is the present one. `prices` (money) and `after` (a state's number) are U x A;
    `spoils` (U x A x F) says which of the F observations `fragile` (places among the observations) lose their
    evidence; `able` (A) what the asker can do. A repair whose parts are not at hand costs a return trip more.
    """

    jobs: tuple[str, ...]
    observations: int
    states: tuple[UnitState, ...]
    prices: Floats
    after: Ints
    fragile: Ints
    spoils: Bools
    able: Bools

    @cached_property
    def least_repairs(self) -> Floats:
        """The least money each remedy can cost, from whatever state (R); infinite where the asker can't make it."""
        prices = self.prices[:, self.observations:].min(axis=0)
        return np.where(self.able[self.observations:], prices, np.inf)

    @cached_property
    def least_test(self) -> float:
        """The same of the cheapest observation."""
        able = self.able[: self.observations]
        return float(self.prices[:, : self.observations][:, able].min(initial=np.inf))


@lru_cache(maxsize=128)
def work_table(model: CompiledModel, asker: Asker, economics: Economics) -> WorkTable:
    """The table for one asker, the unit being as the asker says; kept for the next caller."""
    equipment = model.equipment
    jobs: list[Observation | Remedy] = [*(w.observation for w in model.watches), *equipment.remedies.values()]
    names = tuple(j.id for j in jobs)
    states, after = _reachable(equipment, asker, names)
    loads = [workload(equipment, replace(asker, unit_state=state)) for state in states]
    place = {n: i for i, n in enumerate(sorted({n for load in loads for n in load.fragile if n in model.by_id}))}
    spoils = np.zeros((len(states), len(jobs), len(place)), dtype=bool)
    for u, load in enumerate(loads):
        for a, name in enumerate(names):
            spoils[u, a, [place[n] for n in load.destroys.get(name, ()) if n in place]] = True
    minutes = np.array([[load.minutes[n] for n in names] for load in loads])
    fetches = np.array([isinstance(j, Remedy) and bool(lacking_parts(j, equipment, asker)) for j in jobs], dtype=bool)
    goods = np.array([goods_price(equipment, j) for j in jobs]) + fetches * economics.return_trip
    return WorkTable(
        names, len(model.watches), states, economics.labour(1) * minutes + goods, after,
        np.array([model.by_id[n] for n in place], dtype=np.int64), spoils,
        np.array([not loads[0].missing[n] for n in names], dtype=bool),
    )


def _reachable(equipment: Equipment, asker: Asker, names: Sequence[str]) -> tuple[tuple[UnitState, ...], Ints]:
    """The states that jobs lead to, the present one first, and where each job leads from each of them."""
    states: list[UnitState] = [tuple(sorted(unit_now(equipment, asker).items()))]
    number = {states[0]: 0}
    rows: list[list[int]] = []
    while len(rows) < len(states):
        after = workload(equipment, replace(asker, unit_state=states[len(rows)])).after
        for state in sorted({after[n] for n in names} - number.keys()):
            number[state] = len(states)
            states.append(state)
        if len(states) > MOST_STATES:
            return (states[0],), np.zeros((1, len(names)), dtype=np.int64)
        rows.append([number[after[n]] for n in names])
    return tuple(states), np.array(rows, dtype=np.int64).reshape(len(states), len(names))


def situation(model: CompiledModel, findings: Sequence[Finding], asker: Asker) -> tuple[Asker, frozenset[str]]:
    """The asker with the unit as the findings left it, and the observations whose evidence they destroyed.

    What the asker says of the unit's states stands.
    """
    equipment, symptoms = model.equipment, _symptoms(model.equipment)
    now, lost = replace(asker, unit_state=()), set[str]()
    for found in findings:
        if found.counts and found.about not in symptoms:
            load = workload(equipment, now)
            lost.update(load.destroys.get(found.about, ()))
            now = replace(now, unit_state=load.after[found.about])
    if asker.unit_state:
        now = replace(now, unit_state=tuple(sorted((dict(now.unit_state) | dict(asker.unit_state)).items())))
    return now, frozenset(lost)


@lru_cache(maxsize=64)
def _symptoms(equipment: Equipment) -> frozenset[str]:
    return frozenset(equipment.symptoms)
