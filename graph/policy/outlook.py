"""What every hypothesis costs at best: repaired by someone who knows it, or left to another visit.

Ending a visit with something wrong costs a return trip, another look and the repair. Nobody, whatever is asked
or tried, gets a hypothesis off cheaper than someone who knows it from the start (perfect information).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from graph.columns import Matrix
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.equipment import Equipment, Remedy
from graph.hypotheses import Floats, Ints
from graph.policy.ranking import goods_price
from graph.workload import lacking_parts, workload


@dataclass(frozen=True, slots=True, eq=False)
class Outlook:
    """Money by row: `ends` (N) of ending the visit now, `least` (N) a bound below which no plan comes.

    `left` (remedies x N) are the rows that each remedy leaves; `eases` (remedies x N) is how much lower the bound
    of these is.
    """

    ends: Floats
    least: Floats
    left: Ints
    eases: Matrix


def outlook(model: CompiledModel, asker: Asker, economics: Economics) -> Outlook:
    """The outlook of every row for an asker, whatever the state of the unit."""
    return _outlook(model, replace(asker, unit_state=()), economics)


@lru_cache(maxsize=16)
def _outlook(model: CompiledModel, asker: Asker, economics: Economics) -> Outlook:
    from scipy.sparse import csr_array

    repairs = _class_prices(model, economics)
    again = economics.return_trip + economics.labour(economics.support_minutes)
    ends = again + repairs[model.classes.of_row]
    hypotheses = model.hypotheses
    ends[(hypotheses.members[:, 0] < 0) & ~hypotheses.unlisted] = 0.0
    listed = hypotheses.prior.sum(axis=1) * ~hypotheses.unlisted * (ends > 0)
    ends[hypotheses.unlisted] = again + (listed @ repairs[model.classes.of_row]) / (listed.sum() or 1.0)
    least, left = _least(model, asker, economics, ends), left_of(model)
    return Outlook(ends, least, left, csr_array(least - least[left]))


def _class_prices(model: CompiledModel, economics: Economics) -> Floats:
    """What the usual repair of each remedy class costs someone with everything at hand, from the usual state."""
    equipment = model.equipment
    minutes = workload(equipment, Asker()).minutes
    price = {r.id: economics.labour(minutes[r.id]) + goods_price(equipment, r) for r in equipment.remedies.values()}
    return np.array([sum([price[n] for n in names]) for names in model.classes.remedies])


def _least(model: CompiledModel, asker: Asker, economics: Economics, ends: Floats) -> Floats:
    """The bound: all modes repaired, each at least by its cheapest remedy, or something left to another visit."""
    equipment, hypotheses = model.equipment, model.hypotheses
    missing = workload(equipment, asker).missing
    price = {
        r.id: _least_price(equipment, r, asker, economics) for r in equipment.remedies.values() if not missing[r.id]
    }
    cheapest = np.array([
        *(min([price[r] for r in equipment.modes[m].remedies if r in price], default=np.inf) for m in hypotheses.modes),
        0,
    ])
    lone = np.zeros(len(hypotheses.modes) + 1)
    alone = np.flatnonzero((hypotheses.members[:, 0] >= 0) & (hypotheses.members[:, 1:] < 0).all(axis=1))
    lone[:-1] = np.inf
    np.minimum.at(lone, hypotheses.members[alone, 0], ends[alone])
    lone[-1] = np.inf
    members = hypotheses.members
    left_over = np.where((members >= 0).sum(axis=1) > 1, np.minimum(lone[members].min(axis=1), ends), ends)
    return np.where(hypotheses.unlisted, ends, np.minimum(cheapest[members].max(axis=1), left_over))


def _least_price(equipment: Equipment, remedy: Remedy, asker: Asker, economics: Economics) -> float:
    """What a repair and its trial run cost where nothing has to be switched, money."""
    trial = 0.0 if remedy.verify is None else equipment.observations[remedy.verify].minutes
    price = economics.labour(remedy.minutes + trial) + goods_price(equipment, remedy)
    return price + (economics.return_trip if lacking_parts(remedy, equipment, asker) else 0.0)


@lru_cache(maxsize=64)
def left_of(model: CompiledModel) -> Ints:
    """The row that each remedy leaves of each row (remedies x N)."""
    equipment, modes = model.equipment, model.hypotheses.modes
    removed = [np.array([r in equipment.modes[m].remedies for m in modes], dtype=bool) for r in equipment.remedies]
    return np.array([model.hypotheses.without(gone) for gone in removed])
