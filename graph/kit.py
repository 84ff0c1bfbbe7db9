"""What to bring: parts worth their carrying cost against the chance of a second trip.

Parts are added need by need (all that one repair needs at once, so that a two-part repair is seen)
while the chance it wins, at the price of a return trip, is more than carrying it costs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import inf

import numpy as np
from numpy.typing import NDArray

from graph.answers import Kit, KitLine
from graph.belief import Belief
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.explain import WORTH_NAMING, percent
from graph.hypotheses import Floats, sums_by

LIKELY_WORK = 0.2
"""Chance of a repair from which its instruments are brought."""
MOST_NEEDS = 16
"""The likeliest lists of parts that are considered one by one."""


@dataclass(frozen=True, slots=True)
class KitPlan:
    """Chosen parts with quantities, and the chance to finish with them and with nothing.

    `contribution` is what the chance would lose without the part.
    """

    quantities: dict[str, int]
    contribution: dict[str, float]
    chance: float
    chance_without: float


@dataclass(frozen=True, slots=True, eq=False)
class _Needs:
    """The lists of parts that repairs need, as sets of units (part, its nth piece).

    `masks[i]` has a bit for each unit of list i, `table` (lists x units) the same as 0/1.
    """

    units: tuple[tuple[str, int], ...]
    prices: tuple[float, ...]
    masks: tuple[int, ...]
    table: Floats


@lru_cache(maxsize=64)
def _needs_of(model: CompiledModel) -> _Needs:
    wanted = [[(p, k) for p, n in parts for k in range(n)] for parts in model.needed_parts]
    units = tuple(sorted({unit for row in wanted for unit in row}))
    place = {unit: i for i, unit in enumerate(units)}
    table = np.zeros((len(wanted), len(units)))
    for i, row in enumerate(wanted):
        table[i, [place[unit] for unit in row]] = 1
    prices = tuple(model.equipment.parts[p].price for p, _ in units)
    return _Needs(units, prices, tuple(sum(1 << place[unit] for unit in row) for row in wanted), table)


@lru_cache(maxsize=256)
def _finishable(model: CompiledModel, asker: Asker) -> NDArray[np.bool_]:
    """Which rows (N) this asker may repair: no unlisted cause, no licence missing for a usual remedy."""
    remedies = model.equipment.remedies
    lacking = {r.id for r in remedies.values() if r.licence is not None and r.licence not in asker.licences}
    if asker.role == "site_contact":
        lacking = set()
    able = np.array([not lacking.intersection(names) for names in model.classes.remedies])
    return np.asarray(able[model.classes.of_row] & ~model.hypotheses.unlisted)


def need_masses(belief: Belief, asker: Asker) -> Floats:
    """P(the repair can be made and needs this list of parts), in the order of `needed_parts`.

    For a site contact the kit is somebody else's, who is taken to have every licence.
    """
    model = belief.model
    rows = np.where(_finishable(model, asker), belief.rows, 0.0)
    return sums_by(model.needed_of_row, rows, len(model.needed_parts))


def plan_kit(belief: Belief, asker: Asker, economics: Economics) -> KitPlan:
    """A kit for one case, by the greatest net worth at each step."""
    needs = _needs_of(belief.model)
    masses = need_masses(belief, asker)
    carrying = [p * economics.carrying_share + economics.picking * (k == 0)
                for p, (_, k) in zip(needs.prices, needs.units, strict=True)]
    order = np.argsort(-masses, kind="stable")[:MOST_NEEDS].tolist()
    top = [(mass, needs.masks[i]) for i, mass in zip(order, masses[order].tolist(), strict=True) if mass > 0]
    budget = inf if economics.kit_budget is None else economics.kit_budget

    def rank(need: int, kit: int) -> float:
        """Net worth for carrying cost of bringing what `need` lacks; 0 where not worth it or not affordable."""
        added = need & ~kit
        units = [u for u in range(added.bit_length()) if added >> u & 1]
        if not units or spent + sum([needs.prices[u] for u in units]) > budget:
            return 0.0
        trial = kit | need
        won = float(sum([mass for mass, n in top if not n & ~trial and n & ~kit]))
        cost = float(sum([carrying[u] for u in units]))
        return max(0.0, (won * economics.return_trip - cost) / max(cost, 0.01))

    kit, spent = 0, 0.0
    waiting = [need for _, need in top if need]
    while waiting:
        ranks = [rank(need, kit) for need in waiting]
        best = max(ranks)
        if best <= 0:
            break
        need = waiting[ranks.index(best)]
        spent += sum([p for u, p in enumerate(needs.prices) if (need & ~kit) >> u & 1])
        kit |= need
        waiting = [n for n, r in zip(waiting, ranks, strict=True) if n & ~kit and (r > 0 or n & need)]
    chosen = [u for u in range(len(needs.units)) if kit >> u & 1]
    return _plan_of(needs, masses, chosen)


def _plan_of(needs: _Needs, masses: Floats, chosen: Sequence[int]) -> KitPlan:
    """Quantities, chances and contributions of the chosen units."""
    quantities: dict[str, int] = {}
    for u in chosen:
        part = needs.units[u][0]
        quantities[part] = quantities.get(part, 0) + 1
    names = list(quantities)
    absent = np.ones((len(needs.units), len(names) + 2))
    for u in chosen:
        absent[u, :-1] = 0
        absent[u, names.index(needs.units[u][0])] = 1
    reach = masses @ (needs.table @ absent == 0)
    chance = float(reach[-2])
    lost = {part: chance - float(reach[i]) for i, part in enumerate(names)}
    return KitPlan(quantities, lost, chance, float(reach[-1]))


def kit_of(belief: Belief, asker: Asker, economics: Economics, likely: Sequence[str] = ()) -> Kit:
    """The parts to bring, with what the work needs besides; `likely` are the observations to come."""
    equipment = belief.model.equipment
    plan = plan_kit(belief, asker, economics)
    needed = belief.marginals_of("parts")
    lines = []
    for name in sorted(plan.quantities, key=lambda p: (-plan.contribution[p], p)):
        part, quantity = equipment.parts[name], plan.quantities[name]
        lines.append(KitLine(
            name, part.number, part.title, quantity, part.price * quantity, needed[name], plan.contribution[name],
            part.alternatives,
            f"{part.title}: needed with {percent(needed[name])}; without it the chance to finish falls by "
            f"{percent(plan.contribution[name])}.",
        ))
    price = sum(line.price for line in lines)
    instruments = {i for name in likely for i in equipment.observations[name].instruments}
    licences: dict[str, float] = {}
    usual = belief.marginals_of("remedies")
    for remedy in equipment.remedies.values():
        if usual[remedy.id] >= LIKELY_WORK:
            instruments.update(remedy.instruments)
        if remedy.licence is not None:
            licences[remedy.licence] = licences.get(remedy.licence, 0.0) + usual[remedy.id]
    if lines:
        brought = ", ".join(f"{line.quantity} x {line.title}" for line in lines)
        sentence = (
            f"Bring {brought} ({price:.2f} {equipment.currency}): the job can then be finished with a chance of "
            f"{percent(plan.chance)}, against {percent(plan.chance_without)} with no part."
        )
    else:
        sentence = f"No part is worth bringing yet: {percent(plan.chance_without)} to finish without any."
    return Kit(
        tuple(lines), price, plan.chance, plan.chance_without, tuple(sorted(instruments)),
        {k: min(1.0, v) for k, v in sorted(licences.items()) if v >= WORTH_NAMING}, sentence,
    )
