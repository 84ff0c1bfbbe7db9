"""What the repairs of a case need: lists of parts, each with what serves instead, and how likely each is.

A fault set is repaired in one of several *ways*: one remedy for each of its modes, the same remedy counted once.
A way has *slots*: so many pieces of a part, or of what serves as well. Pieces may be mixed within a slot, and an
assembly that serves two slots of one repair serves both.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product

import numpy as np

from graph.compile import CompiledModel
from graph.context import Asker
from graph.equipment import Equipment
from graph.hypotheses import Floats, Ints, sums_by

MOST_WAYS = 16
"""Ways to repair one fault set that are considered, the usual one first."""

Slot = tuple[tuple[str, ...], int]
"""Keys of the parts that serve, the wanted one first, and how many pieces."""
Way = tuple[Slot, ...]
Need = tuple[Way, ...]
"""Ways to repair, the usual one first. A way without slots needs no part."""
NO_PART: Need = ((),)


@dataclass(frozen=True, slots=True, eq=False)
class NeedTable:
    """All needs that a model's repairs can have for one asker, and the need of each fault set (F).

    `of_set` is one past the last where nobody there can repair it: the unlisted cause, a licence that is lacking.
    """

    needs: tuple[Need, ...]
    of_set: Ints

    def masses(self, fault_sets: Floats) -> Floats:
        """The chance of each need; what is missing to 1 can't be finished by any kit."""
        return sums_by(self.of_set, fault_sets, len(self.needs) + 1)[:-1]


def need_table(model: CompiledModel, asker: Asker) -> NeedTable:
    """The needs of a model for what the asker is licensed to do."""
    return _need_table(model, replace(asker, parts=None, instruments=None, unit_state=()))


@lru_cache(maxsize=64)
def _need_table(model: CompiledModel, asker: Asker) -> NeedTable:
    equipment, hypotheses = model.equipment, model.hypotheses
    able = {r.id for r in equipment.remedies.values() if asker.licensed_for(r)}
    choices = [tuple(r for r in equipment.modes[m].remedies if r in able) for m in hypotheses.modes]
    kinds = sorted(set(choices) | {()})
    number = {kind: i for i, kind in enumerate(kinds)}
    of_mode = np.array([*(number[c] for c in choices), len(kinds)], dtype=np.int64)
    rows = hypotheses.examples
    wanted = np.sort(of_mode[hypotheses.members[rows]], axis=1)
    distinct, kind_of_set = np.unique(wanted, axis=0, return_inverse=True)
    place: dict[Need, int] = {}
    of_kind = [
        place.setdefault(_need(equipment, [kinds[k] for k in row if k < len(kinds)]), len(place))
        for row in distinct.tolist()
    ]
    never = hypotheses.unlisted[rows] | (wanted == number[()]).any(axis=1)
    of_set = np.where(never, len(place), np.array(of_kind, dtype=np.int64)[kind_of_set.reshape(-1)])
    return NeedTable(tuple(place), of_set)


def _need(equipment: Equipment, choices: Sequence[tuple[str, ...]]) -> Need:
    ways: dict[Way, None] = {}
    for remedies in product(*choices):
        pieces: dict[str, int] = {}
        for remedy in sorted(set(remedies)):
            for part, count in equipment.remedies[remedy].parts:
                pieces[part] = pieces.get(part, 0) + count
        ways[tuple(sorted((equipment.serving(part), n) for part, n in pieces.items()))] = None
        if len(ways) == MOST_WAYS:
            break
    return undominated(list(ways))


def undominated(ways: Sequence[Way]) -> Need:
    """Without the ways that want all that another one wants, and more."""
    return tuple(w for w in ways if not any(o != w and set(o) <= set(w) for o in ways))
