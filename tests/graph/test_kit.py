from __future__ import annotations

from itertools import combinations

import pytest

from graph.belief import Belief, believe
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.evidence import finding
from graph.kit.quick import plan_kit, quick_kit
from graph.kit.worth import why_aboard

NOBODY = Asker(role="site_contact")
"""The kit is then a technician's with every licence."""


def cold(urn: CompiledModel) -> Belief:
    return believe(urn, [finding(urn, "stays_cold", "present")])


def chance_by_hand(belief: Belief, have: dict[str, int]) -> float:
    """Sum over all hypotheses whose repairs need nothing that is not at hand."""
    model, equipment = belief.model, belief.model.equipment
    total = 0.0
    for row, members in enumerate(model.hypotheses.members.tolist()):
        if model.hypotheses.unlisted[row]:
            continue
        need: dict[str, int] = {}
        for remedy in {equipment.modes[model.hypotheses.modes[m]].remedies[0] for m in members if m >= 0}:
            for part, quantity in equipment.remedies[remedy].parts:
                need[part] = need.get(part, 0) + quantity
        if all(have.get(p, 0) >= n for p, n in need.items()):
            total += float(belief.rows[row])
    return total


def test_the_chance_to_finish_is_the_mass_of_what_the_kit_covers(urn: CompiledModel) -> None:
    belief = cold(urn)
    plan = plan_kit(belief, NOBODY, Economics())
    assert plan.chance == pytest.approx(chance_by_hand(belief, plan.quantities))
    assert plan.chance_without == pytest.approx(chance_by_hand(belief, {}))
    assert plan.chance < 1 - belief.unlisted + 1e-12, "an unlisted cause is never counted as finished"


def test_a_part_contributes_what_the_chance_loses_without_it(urn: CompiledModel) -> None:
    belief = cold(urn)
    plan = plan_kit(belief, NOBODY, Economics())
    assert plan.quantities
    for part in plan.quantities:
        rest = {p: n for p, n in plan.quantities.items() if p != part}
        assert plan.contribution[part] == pytest.approx(plan.chance - chance_by_hand(belief, rest))


def test_a_repair_of_two_parts_brings_both(urn: CompiledModel) -> None:
    quantities = plan_kit(cold(urn), NOBODY, Economics()).quantities
    assert {"element_2_kw", "gasket"} <= set(quantities), "the element is of no use without its gasket"


def test_the_kit_is_the_best_of_all_on_a_small_machine(urn: CompiledModel) -> None:
    belief, economics = cold(urn), Economics()
    parts = belief.model.equipment.parts

    def worth(have: dict[str, int]) -> float:
        carrying = sum(parts[p].price * economics.carrying_share + economics.picking for p in have)
        return chance_by_hand(belief, have) * economics.return_trip - carrying

    kits = [dict.fromkeys(chosen, 1) for size in range(4) for chosen in combinations(parts, size)]
    assert worth(plan_kit(belief, NOBODY, economics).quantities) == pytest.approx(max(map(worth, kits)))


@pytest.mark.parametrize("budget", [0.0, 27.99, 28.0, 60.0, 85.0])
def test_a_budget_is_never_exceeded(urn: CompiledModel, budget: float) -> None:
    plan = plan_kit(cold(urn), NOBODY, Economics(kit_budget=budget))
    assert sum(urn.equipment.parts[p].price * n for p, n in plan.quantities.items()) <= budget


def test_nothing_is_brought_where_a_second_trip_costs_nothing(urn: CompiledModel) -> None:
    assert plan_kit(cold(urn), NOBODY, Economics(return_trip=0)).quantities == {}


def test_a_technician_without_the_licence_can_not_finish_and_brings_no_parts_for_it(ice_maker: CompiledModel) -> None:
    belief = believe(ice_maker, [finding(ice_maker, "pressures", "both_low")])
    without = quick_kit(belief, Asker(), Economics())
    licensed = quick_kit(belief, Asker(licences=frozenset({"refrigeration", "electrical"})), Economics())
    assert licensed.chance_to_finish > without.chance_to_finish + 0.1
    refrigerant = {p for r in ice_maker.equipment.remedies.values() if r.licence == "refrigeration" for p, _ in r.parts}
    elsewhere = {p for r in ice_maker.equipment.remedies.values() if r.licence != "refrigeration" for p, _ in r.parts}
    assert not {line.part for line in without.lines} & (refrigerant - elsewhere)
    assert without.licences["refrigeration"] == licensed.licences["refrigeration"] > 0.1


def test_instruments_are_those_of_work_that_the_licence_allows(ice_maker: CompiledModel) -> None:
    belief = believe(ice_maker, [finding(ice_maker, "pressures", "both_low")])
    without = set(quick_kit(belief, Asker(), Economics(), ["leak_search", "look_fins"]).instruments)
    licensed = quick_kit(belief, Asker(licences=frozenset({"refrigeration"})), Economics(), ["leak_search"])
    assert without == {"torch"}
    assert "leak_detector" in licensed.instruments


def test_every_line_says_why(ice_maker: CompiledModel) -> None:
    kit = quick_kit(believe(ice_maker, [finding(ice_maker, "hollow_cubes", "present")]), NOBODY, Economics())
    assert kit.lines
    assert kit.price == pytest.approx(sum(line.price for line in kit.lines))
    for line in kit.lines:
        assert line.title in line.sentence
        assert line.title in kit.sentence
        assert line.number == ice_maker.equipment.parts[line.part].number


def test_a_part_that_serves_for_another_says_so() -> None:
    assert why_aboard(0.0, 0.03) == "serves in another part's place"
    assert why_aboard(0.03, 0.03) == "needed with a chance of 3 %"
