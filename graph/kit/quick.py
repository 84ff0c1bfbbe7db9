"""What to bring by a rule of thumb, in microseconds: where nothing is planned.

Parts worth their carrying cost against the chance of a second trip, by the usual repairs alone. Lists of parts (all
that one repair needs, so that a two-part repair is seen) are added, the best net worth for its cost first, while the
chance that a list wins, at the price of a return trip, is more than carrying what it adds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import inf

import numpy as np
from numpy.typing import NDArray

from graph.belief import Belief
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.explain import percent
from graph.hypotheses import Floats, Ints, sums_by
from graph.kit.answers import Kit, KitLine
from graph.kit.plan import instruments_of, licences_of, sentence_of
from graph.kit.worth import why_aboard

MOST_NEEDS = 12
"""The likeliest lists of parts that are considered one by one."""


@dataclass(frozen=True, slots=True)
class KitPlan:
    """Chosen parts with quantities, and the chance to finish with them, with nothing and with everything.

    `contribution` is what the chance would lose without the part.
    """

    quantities: dict[str, int]
    contribution: dict[str, float]
    chance: float
    chance_without: float
    chance_at_most: float


@dataclass(frozen=True, slots=True, eq=False)
class _Needs:
    """The lists of parts that repairs need, as sets of units (part, its nth piece).

    `prices` (and `price`) are those of the units, `first_piece` marks the first of each part; `places[i]` are
    the units of list i, `masks[i]` the same as bits, `words` (W x lists) in words of 62 bits; `uses` (parts x
    lists) says which parts a list has, its rows as `parts` says; `without` marks the list of no parts.
    """

    units: tuple[tuple[str, int], ...]
    prices: tuple[float, ...]
    price: Floats
    first_piece: NDArray[np.bool_]
    places: tuple[tuple[int, ...], ...]
    masks: tuple[int, ...]
    words: Ints
    uses: Floats
    parts: dict[str, int]
    without: NDArray[np.bool_]


@lru_cache(maxsize=64)
def _needs_of(model: CompiledModel) -> _Needs:
    wanted = [[(p, k) for p, n in parts for k in range(n)] for parts in model.needed_parts]
    units = tuple(sorted({unit for row in wanted for unit in row}))
    place = {unit: i for i, unit in enumerate(units)}
    prices = tuple(model.equipment.parts[p].price for p, _ in units)
    places = tuple(tuple(place[unit] for unit in row) for row in wanted)
    masks = tuple(sum(1 << u for u in row) for row in places)
    words = np.array([_words(mask, len(units)) for mask in masks], dtype=np.int64).T.copy()
    parts = {part: i for i, part in enumerate(model.equipment.parts)}
    uses = np.zeros((len(parts), len(wanted)))
    for i, row in enumerate(wanted):
        uses[[parts[part] for part, _ in row], i] = 1
    first = np.array([k == 0 for _, k in units], dtype=bool)
    without = np.array(masks) == 0
    return _Needs(units, prices, np.array(prices), first, places, masks, words, uses, parts, without)


def _words(mask: int, bits: int) -> list[int]:
    """A bit mask in words of 62 bits."""
    return [mask >> shift & ((1 << 62) - 1) for shift in range(0, max(bits, 1), 62)]


@lru_cache(maxsize=256)
def _need_of_set(model: CompiledModel, asker: Asker) -> Ints:
    """The list of parts that each fault set (F) needs, one past the last where this asker can't repair it.

    That is the unlisted cause, and what takes a licence that the asker lacks for a usual remedy.
    """
    remedies, unlisted = model.equipment.remedies, model.hypotheses.unlisted[model.hypotheses.examples]
    lacking = {r.id for r in remedies.values() if not asker.licensed_for(r)}
    able = np.array([not lacking.intersection(names) for names in model.classes.remedies])
    return np.where(able[model.classes.of_set] & ~unlisted, model.needed_of_set, len(model.needed_parts))


def need_masses(belief: Belief, asker: Asker) -> Floats:
    """P(the repair can be made and needs this list of parts), in the order of `needed_parts`."""
    count = len(belief.model.needed_parts)
    return sums_by(_need_of_set(belief.model, asker), belief.fault_sets, count + 1)[:count]


def plan_kit(belief: Belief, asker: Asker, economics: Economics) -> KitPlan:
    """A kit for one case: lists of parts in the order of their net worth, each while it is worth what it adds."""
    needs = _needs_of(belief.model)
    masses = need_masses(belief, asker)
    price = needs.price * economics.carrying_share + needs.first_piece * economics.picking
    carrying = price.tolist()
    choices = []
    for mass, i in _largest(masses, MOST_NEEDS):
        won, cost = mass * economics.return_trip, sum([carrying[u] for u in needs.places[i]])
        choices.append(((cost - won) / max(cost, 0.01), won, i))
    choices.sort(key=lambda choice: choice[0])
    kit, left = 0, inf if economics.kit_budget is None else economics.kit_budget
    for _, won, i in choices:
        missing = [u for u in needs.places[i] if not kit >> u & 1]
        paid = sum([needs.prices[u] for u in missing])
        if paid <= left and won > sum([carrying[u] for u in missing]):
            kit |= needs.masks[i]
            left -= paid
    return _plan_of(needs, masses, kit)


def _largest(masses: Floats, count: int) -> list[tuple[float, int]]:
    """The largest masses and their places, largest first (ties by place); those of no mass left out."""
    some = np.argpartition(-masses, count)[:count] if len(masses) > count else np.arange(len(masses))
    return [(-less, i) for less, i in sorted(zip((-masses[some]).tolist(), some.tolist(), strict=True)) if less < 0]


def _covered(needs: _Needs, kit: int) -> NDArray[np.bool_]:
    """Which lists a kit has all units of."""
    lacking = np.zeros(needs.words.shape[1], dtype=np.int64)
    for words, word in zip(needs.words, _words(kit, len(needs.units)), strict=True):
        lacking |= words & ~word
    return np.asarray(lacking == 0)


def _plan_of(needs: _Needs, masses: Floats, kit: int) -> KitPlan:
    """Quantities, chances and contributions of a kit."""
    quantities: dict[str, int] = {}
    for u, (part, _) in enumerate(needs.units):
        if kit >> u & 1:
            quantities[part] = quantities.get(part, 0) + 1
    finished = masses * _covered(needs, kit)
    lost = (needs.uses @ finished).tolist()
    contribution = {p: lost[needs.parts[p]] for p in quantities}
    return KitPlan(quantities, contribution, float(finished.sum()), float(masses @ needs.without),
                   float(masses.sum()))


def quick_kit(belief: Belief, asker: Asker, economics: Economics, likely: Sequence[str] = ()) -> Kit:
    """The parts to bring by this rule of thumb; `likely` are the observations to come."""
    equipment = belief.model.equipment
    plan = plan_kit(belief, asker, economics)
    needed = belief.marginals_of("parts")
    lines = []
    for name in sorted(plan.quantities, key=lambda p: (-plan.contribution[p], p)):
        part, quantity = equipment.parts[name], plan.quantities[name]
        lines.append(KitLine(
            name, part.number, part.title, quantity, part.price * quantity, part.consumable, needed[name],
            plan.contribution[name], None, part.alternatives,
            f"{part.title}: {why_aboard(needed[name], plan.contribution[name])}; without it the chance to finish "
            f"falls by {percent(plan.contribution[name])}.",
        ))
    price = sum(line.price for line in lines)
    parts = [(equipment.parts[line.part], line.quantity) for line in lines]
    return Kit(
        lines=tuple(lines),
        price=price,
        volume_litres=sum((p.volume_litres or 0.0) * n for p, n in parts),
        weight_kg=sum((p.weight_kg or 0.0) * n for p, n in parts),
        chance_to_finish=plan.chance,
        chance_without=plan.chance_without,
        chance_at_most=plan.chance_at_most,
        cost=None,
        gap=None,
        limits_cost=0.0,
        left_out=(),
        instruments=instruments_of(belief, asker, likely),
        licences=licences_of(belief),
        minutes=None,
        questions=(),
        frontier=(),
        sentence=sentence_of(
            equipment, [(line.quantity, line.title) for line in lines], price, plan.chance, plan.chance_without
        ),
    )
