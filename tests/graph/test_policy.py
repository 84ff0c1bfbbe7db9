from __future__ import annotations

from math import log2

import pytest

from graph.belief import believe
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.evidence import finding
from graph.gain import class_entropy, gains
from graph.policy.ranking import rank_remedies, rank_tests

ECONOMICS = Economics(labour_per_hour=60)


def test_tests_are_ranked_by_bits_for_money(urn: CompiledModel) -> None:
    belief = believe(urn)
    ranking = rank_tests(belief, Asker(), ECONOMICS)
    value = gains(belief)
    expected = {
        w.observation.id: float(value.classes[i]) / ranking.test(w.observation.id).price
        for i, w in enumerate(urn.watches) if value.classes[i] > 0.002
    }
    assert list(ranking.order()) == sorted(expected, key=lambda n: (-expected[n], n))
    assert {name: ranking.score(name) for name in ranking.order()} == pytest.approx(expected)


def test_a_price_is_hands_on_time_and_the_time_to_bring_the_unit_there(ice_maker: CompiledModel) -> None:
    ranking = rank_tests(believe(ice_maker), Asker(licences=frozenset({"electrical"})), ECONOMICS)
    choice = ranking.test("capacitor_check")
    states = ice_maker.equipment.unit_states
    setup = states["power"].minutes["isolated"] + states["front_panel"].minutes["off"]
    setup += states["electrics_cover"].minutes["off"]
    assert choice.minutes == ice_maker.equipment.observations["capacitor_check"].minutes + setup
    assert choice.price == pytest.approx(choice.minutes), "one money a minute"
    there = Asker(unit_state=(("electrics_cover", "off"), ("front_panel", "off"), ("power", "isolated")))
    assert rank_tests(believe(ice_maker), there, ECONOMICS).test("capacitor_check").minutes == choice.minutes - setup


def test_what_was_found_or_passed_over_is_not_offered_again(urn: CompiledModel) -> None:
    belief = believe(urn, [finding(urn, "stays_cold", "present")])
    ranking = rank_tests(belief, Asker(), ECONOMICS, passed_over=["look_inside"])
    assert "stays_cold" not in ranking.order()
    assert "look_inside" not in ranking.order()
    assert "measure_element" in ranking.order()


def test_a_missing_instrument_blocks_a_test_and_is_named(urn: CompiledModel) -> None:
    belief = believe(urn, [finding(urn, "stays_cold", "present")])
    ranking = rank_tests(belief, Asker(instruments=frozenset()), ECONOMICS)
    assert "measure_element" not in ranking.open()
    assert ranking.test("measure_element").missing == ("Multimeter",)


def test_a_site_contact_is_offered_nothing_that_is_a_technicians_work(urn: CompiledModel) -> None:
    ranking = rank_tests(believe(urn), Asker(role="site_contact"), ECONOMICS)
    assert set(ranking.open()) <= {"stays_cold", "slow", "scale_seen"}


def test_a_repair_scores_what_it_settles_against_its_price_and_the_chance_that_it_fails(urn: CompiledModel) -> None:
    belief = believe(urn, [finding(urn, "stays_cold", "present")])
    ranking = rank_tests(belief, Asker(), ECONOMICS)
    choice = next(r for r in rank_remedies(belief, ranking) if r.remedy.id == "call_electrician")
    alone = [urn.hypotheses.modes.index("socket.dead"), -1]
    fixed = [i for i, members in enumerate(urn.hypotheses.members.tolist()) if members == alone]
    assert choice.chance == pytest.approx(float(belief.rows[fixed].sum()))
    assert choice.price == pytest.approx(30)
    by_class: dict[int, float] = {}
    for i, mass in enumerate(belief.rows.tolist()):
        if i not in fixed:
            by_class[int(urn.classes.of_row[i])] = by_class.get(int(urn.classes.of_row[i]), 0.0) + mass
    rest = sum(by_class.values())
    after = -rest * sum(p / rest * log2(p / rest) for p in by_class.values() if p > 0)
    assert choice.score == pytest.approx((class_entropy(belief) - after) / (30 * (1 - choice.chance)))


def test_a_repair_pays_for_its_parts_and_its_trial_run(urn: CompiledModel) -> None:
    belief = believe(urn, [finding(urn, "stays_cold", "present"), finding(urn, "watch_thermostat", "opens")])
    ranking = rank_tests(belief, Asker(), ECONOMICS)
    best = rank_remedies(belief, ranking)[0]
    assert best.remedy.id == "replace_thermostat"
    assert best.price == pytest.approx(25 + 5 + 28), "minutes, minutes of the verification, part"


def test_a_job_that_destroys_evidence_comes_after_the_look_that_takes_it(ice_maker: CompiledModel) -> None:
    belief = believe(ice_maker, [finding(ice_maker, "amber_blinks", "present")])
    ranking = rank_tests(belief, Asker(licences=frozenset({"electrical"})), ECONOMICS)
    order = ranking.open()
    for name in order:
        assert all(order.index(look) < order.index(name) for look in ranking.looks(name))
    assert any("read_alarm" in ranking.looks(name) for name in order)


def test_evidence_that_a_near_certain_repair_would_not_need_does_not_hold_it_up(ice_maker: CompiledModel) -> None:
    found = [finding(ice_maker, about, outcome) for about, outcome in (
        ("no_ice", "present"), ("hums_and_clicks", "present"), ("capacitor_check", "failed"))]
    belief = believe(ice_maker, found)
    ranking = rank_tests(belief, Asker(licences=frozenset({"electrical"})), ECONOMICS)
    best = rank_remedies(belief, ranking)[0]
    assert best.remedy.id == "replace_start_capacitor"
    assert best.chance > 0.85
    worth = {n: ranking.worth(n) for n in ranking.open()}
    assert all(worth[n] * (1 - best.chance) > 0.005 for n in best.look_first)
