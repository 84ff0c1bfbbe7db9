"""What the trade knows, as checks on the freezer cabinet. Each is common practice; no source is claimed."""

from __future__ import annotations

import pytest

from graph.answers import Advice
from graph.context import Asker, Economics
from graph.equipment import Observation, Remedy
from graph.policy.ranking import rank_tests
from tests.published.practice import TECHNICIAN, Story, Veteran

FREEZER = Veteran("quillmere-f140")
belief, modes = FREEZER.belief, FREEZER.modes

NO_ICE_ROUND_DOOR: Story = {"not_cold_enough": "present", "paper_strip": "drags"}


def advice(story: Story, asker: Asker = TECHNICIAN) -> Advice:
    return FREEZER.advice(story, asker, budget=20)


def test_a_warm_cabinet_is_dirt_a_seal_or_the_loading_before_it_is_anything_electrical() -> None:
    # Common practice, no source: the condenser is looked at first, then the doors and the goods.
    suspects = [s.failure_mode for s in advice({"not_cold_enough": "present"}).suspects[:3]]
    assert suspects[0] == "condenser.fins_blocked"
    dirt_seal_load = {"condenser.fins_blocked", "gasket.hanging", "product_load.overloaded", "door_use.left_ajar"}
    assert set(suspects) <= dirt_seal_load


def test_the_controller_is_very_seldom_the_cause() -> None:
    # Common practice, no source: about one call in a hundred.
    assert belief({}).marginals_of("components")["controller"] < 0.015


@pytest.mark.parametrize("symptom", list(FREEZER.model.equipment.symptoms))
def test_no_single_complaint_puts_the_controller_among_the_first_suspects(symptom: str) -> None:
    # Common practice, no source. A box that is far too cold is the exception: nothing but the controller or its probe
    # keeps a compressor running.
    ranked = [c.component for c in advice({symptom: "present"}).components[:3]]
    assert "controller" not in ranked or symptom in ("too_cold", "cabinet_dead")


@pytest.mark.parametrize(
    "complaint", ["not_cold_enough", "goods_thawing", "ice_at_the_top", "alarm_on_display", "ice_round_door"]
)
def test_the_first_suggestions_are_cheap_looks_and_questions_not_parts(complaint: str) -> None:
    # Common practice, no source.
    answer = advice({complaint: "present"})
    assert answer.next_step.kind in ("ask", "test")
    for test in answer.next_tests[:3]:
        assert test.minutes <= 7
        assert not test.hazards
        assert test.role == "site_contact"


def test_the_pattern_of_the_ice_tells_a_dead_defrost_from_leaking_doors() -> None:
    # Common practice, no source: hard ice all over means no defrost, soft snow means damp air, ice in one corner a
    # defrost that ends early, a few white tubes a starved coil.
    defrost = ("defrost_element.open", "defrost_limiter.open", "defrost_thermostat.stuck_open",
               "heater_plug.not_seated", "defrost_relay.never_makes", "settings.defrost_off")
    doors = ("gasket.hanging", "door_hinge.slack", "door_hinge.worn", "door_use.left_ajar")
    early = ("coil_probe.out_of_place", "coil_probe.reads_warm")
    starved = ("charge.low", "capillary.blocked", "capillary.ices", "drier.restricted")
    for outcome, blamed in (("solid", defrost), ("snow", doors), ("half", early), ("part", starved)):
        told = modes({"not_cold_enough": "present", "look_coil": outcome})
        assert sum(told[m] for m in blamed) > 0.6, outcome


def test_the_ice_is_looked_at_before_a_defrost_is_forced() -> None:
    # Common practice, no source: a forced defrost destroys what the ice tells.
    story: Story = {"not_cold_enough": "present", "ice_at_the_top": "present"}
    ranking = rank_tests(belief(story), TECHNICIAN, Economics())
    forced = [n for n in ("defrost_clamp", "element_volts", "time_defrost") if n in ranking.open()]
    assert forced
    for name in forced:
        assert "look_at_coil" in ranking.looks(name)
        assert ranking.open().index("look_at_coil") < ranking.open().index(name)


def test_the_alarm_list_is_read_before_the_supply_is_cut() -> None:
    # Common practice, no source: cutting the supply wipes it.
    story: Story = {"not_cold_enough": "present", "alarm_on_display": "present"}
    ranking = rank_tests(belief(story), TECHNICIAN, Economics())
    wiping = [n for n in ranking.open() if "read_alarms" in ranking.work.destroys.get(n, ())]
    assert len(wiping) > 10
    for name in wiping:
        assert "read_alarms" in ranking.looks(name)


def test_a_defrost_without_current_leads_to_element_limiter_and_feed_and_the_ohms_decide() -> None:
    # Common practice, no source.
    story: Story = {"ice_at_the_top": "present", "read_alarms": "n21", "defrost_clamp": "none"}
    before = modes(story)
    assert sum(before[m] for m in ("defrost_element.open", "defrost_limiter.open", "defrost_thermostat.stuck_open",
                                   "defrost_relay.never_makes", "heater_plug.not_seated")) > 0.85
    cleared = modes({**story, "element_volts": "present"})
    assert cleared["defrost_relay.never_makes"] < 0.1 * before["defrost_relay.never_makes"]
    assert modes({**story, "element_volts": "present", "element_ohms": "open"})["defrost_element.open"] > 0.95


def test_a_humming_compressor_gets_start_gear_before_it_is_condemned() -> None:
    # Common practice, no source: capacitor and relay first, supply volts at the start too.
    hums: Story = {"goods_thawing": "present", "compressor_listen": "hums"}
    told = modes(hums)
    assert told["start_relay.open"] + told["start_capacitor.failed"] > 2 * told["compressor.seized"]
    answer = advice(hums)
    assert answer.next_step.id != "replace_compressor"
    gear = {"start_capacitor_check": "right", "start_relay_check": "sound", "compressor_start_kit": "hums"}
    assert modes({**hums, **gear})["compressor.seized"] > 0.8


def test_a_soft_box_with_a_cold_display_is_the_probe() -> None:
    # Common practice, no source: trust a thermometer between the packs, not the display.
    told = modes({"display_says_colder": "present", "thermometer_between_packs": "colder"})
    assert told["air_probe.reads_cold"] + told["air_probe.out_of_place"] > 0.9


def test_a_breaker_that_goes_hours_later_is_the_defrost_element() -> None:
    # Common practice, no source: it goes when the defrost comes.
    told = modes({"trips_breaker": "present", "trips_after_hours": "present"})
    assert max(told, key=lambda mode: told[mode]) == "defrost_element.earthed"
    assert told["defrost_element.earthed"] > 0.8


def test_a_short_charge_is_not_suspected_until_the_air_is_proved() -> None:
    # Common practice, no source: gauges come last, each hose costs charge.
    asker = Asker(licences=frozenset({"electrical", "refrigeration"}))
    order = rank_tests(belief(NO_ICE_ROUND_DOOR), asker, Economics()).open()
    for gauge in ("pressures", "coil_superheat", "weigh_charge", "leak_search"):
        assert order.index("torch_through_louvres") < order.index(gauge)
        assert order.index("feel_air_inside") < order.index(gauge)
    told = modes({**NO_ICE_ROUND_DOOR, "look_fins": "clear", "feel_exhaust": "cool", "look_at_coil": "part"})
    assert told["charge.low"] > 0.5


def test_work_on_the_circuit_asks_for_a_licence_and_carries_its_cautions() -> None:
    # Common practice, no source; R-290 burns.
    equipment = FREEZER.model.equipment
    jobs: list[Observation | Remedy] = [*equipment.observations.values(), *equipment.remedies.values()]
    circuit = [j for j in jobs if {"flammable_refrigerant", "pressurised_circuit"} & set(j.hazards)]
    assert len(circuit) >= 8
    assert all(j.licence == "refrigeration" for j in circuit)
    assert not any("flammable_refrigerant" in j.hazards for j in jobs if "warm_air_gun" in j.instruments)


def test_nobody_on_site_is_offered_a_hazard_or_a_cover() -> None:
    # Common practice, no source: who is not trained does not work behind panels.
    for complaint in FREEZER.model.equipment.symptoms:
        for test in advice({complaint: "present"}, Asker(role="site_contact")).next_tests:
            assert test.role == "site_contact"
            assert not test.hazards
            assert not {"louvre_panel", "control_cover", "coil_cover"} & set(test.needs)
