"""What the trade knows, as checks on the combination oven. Each is common practice; no source is claimed."""

from __future__ import annotations

import pytest

from graph.context import Asker, Economics
from graph.equipment import Observation, Remedy
from graph.policy.ranking import rank_tests
from graph.readings.taking import Given
from tests.published.practice import TECHNICIAN, Story, Veteran

OVEN = Veteran("quillmere-h6")
belief, modes, advice, order = OVEN.belief, OVEN.modes, OVEN.advice, OVEN.order

USUAL_SUSPECTS = (
    "door_gasket", "door_latch", "boiler", "level_pins", "cavity_drain", "drain_line", "drip_tray", "water_main",
    "water_filter", "inlet_strainer", "intake_filter", "flush_pump", "lamp", "core_probe", "program", "loading",
    "cleaning", "air_baffle", "fan_wheel", "site_power",
)
"""Dirt, scale, water, drain, seals, bulbs, crushed leads and settings."""


def test_dirt_scale_water_seals_and_settings_are_most_of_the_calls_and_the_boards_very_few() -> None:
    # Common practice, no source.
    chances = belief({}).marginals_of("components")
    assert sum(chances[c] for c in USUAL_SUSPECTS) > 0.5
    assert chances["board"] < 0.01
    assert chances["relay_card"] < 0.015


@pytest.mark.parametrize("complaint", list(OVEN.model.equipment.symptoms))
def test_no_complaint_alone_makes_a_board_the_first_suspect_or_a_swap_the_first_step(complaint: str) -> None:
    # Common practice, no source: look, ask and listen first; boards are condemned last.
    answer = advice({complaint: "present"})
    assert not {"board", "relay_card"} & {c.component for c in answer.components[:2]}
    assert answer.next_step.kind in ("ask", "test")
    for test in answer.next_tests[:2]:
        assert test.minutes <= 10
        assert not {"mains_voltage", "stored_charge", "moving_fan", "scalding_steam"} & set(test.hazards)


@pytest.mark.parametrize("complaint", ["no_steam", "stays_cold", "word_on_display", "fan_still", "stops_midway"])
def test_the_word_on_the_display_is_read_before_anybody_switches_off(complaint: str) -> None:
    # Common practice, no source: switching off wipes it.
    ranking = rank_tests(belief({complaint: "present"}), TECHNICIAN, Economics())
    wiping = [n for n in ranking.open() if "read_message" in ranking.work.destroys.get(n, ())]
    assert len(wiping) > 10
    for name in wiping:
        assert ranking.open().index("read_message") < ranking.open().index(name)


def test_an_oven_that_is_slow_in_heat_and_in_steam_has_its_phases_measured_first() -> None:
    # Common practice, no source: two banks that lose a third at once share the supply.
    story: Story = {"heats_slowly": "present", "weak_steam": "present", "vent_always_steams": "absent"}
    chances = modes(story)
    supply = chances["site_power.phase_lost"] + chances["supply_terminal.burnt"]
    assert supply > 2 * (chances["hot_air_element.one_open"] + chances["boiler_element.one_open"])
    tests = order(story)
    for later in ("hot_element_ohms", "boiler_element_ohms", "heat_pole_volts", "boiler_pole_volts"):
        assert later not in tests or tests.index("isolator_volts") < tests.index(later)


def test_water_is_proved_before_valve_and_relay() -> None:
    # Common practice, no source: tap, hose and strainer come before coil and card.
    tests = order({"no_steam": "present", "read_message": "water", "spits_water": "absent"})
    first = min(tests.index(t) for t in ("look_water_tap", "bucket_flow"))
    for later in ("fill_coil_ohms", "fill_coil_volts", "fill_direct_feed", "relay_card_check"):
        assert later not in tests or first < tests.index(later)


def test_pins_that_flood_the_oven_are_scoured_not_replaced() -> None:
    # Common practice, no source: crusted pins are cleaned, and the boiler behind them is looked at.
    answer = advice({"spits_water": "present", "read_message": "water", "look_pins": "crusted"})
    assert answer.next_remedies[0].remedy == "clean_pins"
    assert answer.suspects[0].failure_mode == "level_pins.scaled"


def test_the_word_fan_with_a_fan_that_turns_blames_its_sensor() -> None:
    # Common practice, no source.
    story: Story = {"stays_cold": "present", "read_message": "fan", "watch_fan": "runs"}
    chances = belief(story).marginals_of("components")
    assert chances["speed_sensor"] > 0.8
    assert chances["fan_motor"] < 0.05


def test_a_fan_that_hums_and_turns_freely_by_hand_wants_its_capacitor() -> None:
    # Common practice, no source: capacitor before motor, a third of the marked 12 µF condemns it.
    story: Story = {"hums_no_fan": "present", "read_message": "fan", "spin_fan": "free"}
    chances = modes(story)
    assert chances["fan_capacitor.weak"] > 10 * chances["fan_motor.seized"]
    assert modes({**story, "capacitor_check": Given(4.0, "µF")})["fan_capacitor.weak"] > 0.98
    assert modes({**story, "capacitor_check": Given(11.9, "µF")})["fan_capacitor.weak"] < 0.2


def test_food_burnt_before_the_limiter_tripped_blames_the_contactor_not_the_limiter() -> None:
    # Common practice, no source: a limiter that tripped did its work.
    chances = modes({"too_hot": "present", "read_message": "limit_cavity"})
    assert chances["heat_contactor.welded"] > 5 * chances["cavity_limiter.failed"]


def test_a_probe_that_is_right_by_its_table_leaves_its_plug() -> None:
    # Common practice, no source; 1,097 Ω at 25 °C by IEC 60751.
    story: Story = {"bakes_pale": "present", "oven_thermometer": Given(150, "°C")}
    before = modes(story)
    after = modes({**story, "cavity_probe_ohms": Given(1098, "Ω", {"cavity": 25})})
    assert after["cavity_probe.reads_high"] < 0.1 * before["cavity_probe.reads_high"]
    assert after["probe_plug.corroded"] > 0.85
    bad = modes({**story, "cavity_probe_ohms": Given(1215, "Ω", {"cavity": 25})})
    assert bad["cavity_probe.reads_high"] > 0.9


def test_one_miss_in_ten_condemns_a_door_contact_and_ten_clean_ones_clear_it() -> None:
    # Common practice, no source.
    story: Story = {"wants_door_shut": "present", "comes_and_goes": "present"}
    before = modes(story)["door_switch.misses"]
    assert modes({**story, "door_ten_times": {"ten_of_ten": 9, "misses": 1}})["door_switch.misses"] > 0.95
    assert modes({**story, "door_ten_times": {"ten_of_ten": 10}})["door_switch.misses"] < 0.2 * before


def test_an_oven_that_gives_up_in_the_rush_has_its_filter_looked_at_before_its_fan_is_replaced() -> None:
    # Common practice, no source.
    story: Story = {"stops_midway": "present", "read_message": "box_hot"}
    answer = advice(story)
    assert answer.suspects[0].failure_mode == "intake_filter.clogged"
    assert answer.next_step.id in ("look_intake_filter", "feel_box_air")


def test_nobody_on_site_is_offered_a_hazard_or_a_cover() -> None:
    # Common practice, no source: who is not trained does not work behind panels.
    for complaint in OVEN.model.equipment.symptoms:
        for test in advice({complaint: "present"}, Asker(role="site_contact")).next_tests:
            assert test.role == "site_contact"
            assert not test.hazards
            assert not {"side_panel", "electrics_cover", "baffle"} & set(test.needs)


def test_live_work_asks_for_a_licence_and_the_capacitor_for_its_discharge() -> None:
    # Common practice, no source.
    equipment = OVEN.model.equipment
    live = [
        t for t in equipment.tests.values()
        if ("electrics_cover", "off") in t.needs and ("power", "isolated") not in t.needs and t.instruments
    ]
    assert len(live) > 8
    assert all(t.licence == "electrical" and "mains_voltage" in t.hazards for t in live)
    jobs: list[Observation | Remedy] = [*equipment.tests.values(), *equipment.remedies.values()]
    capacitor = [j for j in jobs if j.id in ("capacitor_check", "replace_fan_capacitor")]
    assert len(capacitor) == 2
    assert all("stored_charge" in j.hazards for j in capacitor)
