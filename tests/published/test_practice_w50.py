"""What the trade knows of glasswashers, as checks on the W50. Each is common practice; no source is claimed."""

from __future__ import annotations

from functools import cache

import pytest

from graph.advice import advise
from graph.answers import Advice
from graph.context import Economics
from graph.equipment import Observation, Remedy
from graph.policy.ranking import rank_tests
from graph.readings.taking import Given
from tests.published.practice import TECHNICIAN, Story, Veteran

GLASSWASHER = Veteran("quillmere-w50")
belief, modes = GLASSWASHER.belief, GLASSWASHER.modes



@cache
def first_advice(complaint: str) -> Advice:
    return GLASSWASHER.advice({complaint: "present"})


def test_the_board_is_very_seldom_the_cause() -> None:
    # Common practice, no source: about one call in a hundred at the most.
    assert belief({}).marginals_of("components")["board"] < 0.012


@pytest.mark.parametrize("complaint", list(GLASSWASHER.model.equipment.symptoms))
def test_no_single_complaint_makes_the_board_a_leading_suspect(complaint: str) -> None:
    # Common practice, no source.
    shares = belief({complaint: "present"}).marginals_of("components")
    assert "board" not in sorted(shares, key=lambda name: -shares[name])[:3]


@pytest.mark.parametrize(
    "complaint", ["dirty_glasses", "streaks_and_spots", "cold_glasses", "takes_no_water", "wont_empty", "machine_dead"]
)
def test_the_first_step_is_a_look_or_a_question_and_no_part(complaint: str) -> None:
    # Common practice, no source.
    answer = first_advice(complaint)
    assert answer.next_step.kind in ("ask", "test")
    for test in answer.next_tests:
        assert test.minutes <= 4
        assert not test.hazards
        assert test.role == "site_contact"


def test_dirty_glasses_are_filters_jets_water_and_detergent_before_anything_with_a_wire() -> None:
    # Common practice, no source: dirt, operator and chemicals carry most of these calls.
    chances = modes({"dirty_glasses": "present"})
    usual = ("tank_filter.", "wash_arms.", "tank_water.", "loading.", "detergent_can.", "detergent_pump.",
             "tank_thermostat.set_low")
    shares = sum(chance for mode, chance in chances.items() if mode.startswith(usual))
    assert shares > 0.6
    order = rank_tests(belief({"dirty_glasses": "present"}), TECHNICIAN, Economics()).open()
    for look in ("look_filters", "look_detergent_can", "look_water"):
        for meter in ("wash_pump_volts", "tank_element_ohms", "wash_pump_ohms", "board_wash_elimination"):
            assert meter not in order or order.index(look) < order.index(meter)


def test_cold_glasses_only_at_the_start_of_a_shift_are_no_fault_of_the_machine() -> None:
    # Common practice, no source.
    story: Story = {"cold_glasses": "present", "look_ring": "green", "ask_habit": "too_soon"}
    assert modes(story)["habit.started_cold"] > 0.7
    warm: Story = {**story, "rinse_max_thermometer": Given(66, "°C")}
    chances = modes(warm)
    assert chances["habit.started_cold"] > modes(story)["habit.started_cold"]
    heat = sum(chance for mode, chance in chances.items() if mode.startswith("boiler_"))
    assert heat < 0.02, "hot at the glass once it is ready clears boiler and probe"


def test_an_element_that_is_fed_and_whole_but_slow_is_scaled() -> None:
    # Common practice, no source.
    story: Story = {
        "long_cycle": "present", "bucket_flow": Given(8, "l/min"), "boiler_feed_volts": Given(230, "V"),
        "boiler_element_ohms": Given(22.2, "Ω"), "boiler_warms": Given(12, "K"),
    }
    assert modes(story)["boiler_element.scaled"] > 0.9
    assert GLASSWASHER.advice(story).next_remedies[0].remedy == "boiler_descale_element"


def test_what_the_flashes_say_is_read_before_it_is_wiped() -> None:
    # Common practice, no source: switching off wipes the count.
    ranking = rank_tests(belief({"red_flashes": "present"}), TECHNICIAN, Economics())
    wiping = [name for name in ranking.open() if "count_flashes" in ranking.work.destroys.get(name, ())]
    assert len(wiping) > 10
    for name in wiping:
        assert ranking.open().index("count_flashes") < ranking.open().index(name)


def test_a_breath_into_the_tube_parts_the_switch_from_trap_and_tube() -> None:
    # Common practice, no source.
    story: Story = {"never_stops_filling": "present", "count_flashes": "two", "look_lamp_t": "never_lights"}
    before = belief(story).marginals_of("components")
    clicks = belief({**story, "blow_tube": "lights"}).marginals_of("components")
    silent = belief({**story, "blow_tube": "stays_dark"}).marginals_of("components")
    assert before["air_trap"] > before["pressure_switch"], "sludge is commoner than a dead switch"
    assert clicks["air_trap"] > 0.95
    assert silent["pressure_switch"] + silent["tank_loop_plug"] > 0.85


def test_a_pump_that_hums_is_turned_by_hand_before_it_is_replaced() -> None:
    # Common practice, no source: fast means glass in it, free means the capacitor.
    story: Story = {"hums_only": "present", "no_wash_heard": "present"}
    assert modes({**story, "spin_pump": "fast"})["wash_pump.jammed"] > 0.9
    free: Story = {**story, "spin_pump": "free", "wash_capacitor_check": Given(2.2, "µF")}
    answer = advise(GLASSWASHER.model, GLASSWASHER.findings(free), asker=TECHNICIAN)
    assert answer.suspects[0].failure_mode == "wash_capacitor.weak"
    assert answer.next_remedies[0].remedy == "replace_wash_capacitor"


def test_a_reed_that_misses_once_in_ten_is_condemned() -> None:
    # Common practice, no source.
    story: Story = {"stops_midway": "present", "comes_and_goes": "present", "look_door": "shut"}
    clean = modes({**story, "door_switch_ten": {"ten_of_ten": 10}})["door_switch.chatters"]
    missed = modes({**story, "door_switch_ten": {"ten_of_ten": 9, "misses": 1}})["door_switch.chatters"]
    assert clean < 0.3
    assert missed > 0.95


def test_a_tripped_safety_thermostat_is_asked_for_its_cause() -> None:
    # Common practice, no source: it trips for a reason, so reasons stay among the suspects.
    story: Story = {"cold_glasses": "present", "count_flashes": "three", "boiler_look_cutout": "popped"}
    chances = modes(story)
    reasons = ("boiler_contactor.welded", "boiler_pins.bridged", "boiler_probe.out_of_place",
               "boiler_cutout.trips_early")
    assert chances["boiler_cutout.tripped"] < 0.85
    assert sum(chances[mode] for mode in reasons) > 0.1


def test_vinegar_tells_lime_from_grease_on_a_cloudy_glass() -> None:
    # Common practice, no source.
    lime = modes({"white_film": "present", "vinegar_wipe": "vinegar"})
    grease = modes({"white_film": "present", "vinegar_wipe": "washing_up"})
    hard = ("softener.salt_empty", "softener.not_regenerating", "site_water.hard_untreated")
    assert sum(lime[mode] for mode in hard) > 0.85
    assert grease["glassware.filmed"] > 0.8


def test_nobody_on_site_is_offered_a_hazard_or_a_cover() -> None:
    # Common practice, no source: who is not trained does not work behind panels or with caustics.
    equipment = GLASSWASHER.model.equipment
    jobs: list[Observation | Remedy] = [*equipment.observations.values(), *equipment.remedies.values()]
    for job in jobs:
        if job.role == "site_contact":
            needs = dict(job.needs)
            assert not job.hazards, job.id
            assert "front_panel" not in needs, job.id
            assert "electrics_cover" not in needs, job.id
    chemicals = [r for r in equipment.remedies.values() if "detergent_can_part" in dict(r.parts)]
    assert chemicals
    assert all("caustic_detergent" in r.hazards for r in chemicals)
