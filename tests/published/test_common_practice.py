"""What the trade knows, as checks on the ice maker. Each is common practice; no source is claimed."""

from __future__ import annotations

import pytest

from graph.context import Asker, Economics
from graph.equipment import Observation, Remedy
from graph.policy.ranking import rank_tests
from tests.published.practice import TECHNICIAN, Story, Veteran

ICE_MAKER = Veteran("quillmere-c45")
belief, advice = ICE_MAKER.belief, ICE_MAKER.advice



def odds(story: Story, component: str, **known: str) -> float:
    chance = belief(story, **known).marginals_of("components")[component]
    return chance / (1 - chance)


NEVER_FULL: Story = {"stuck_filling": "present", "comes_and_goes": "present", "look_reservoir": "over"}


def test_a_float_switch_is_proved_in_water_ten_times_and_one_miss_condemns_it() -> None:
    # Common practice, no source: ten clean of ten clears the switch, one miss in ten condemns it.
    before = odds(NEVER_FULL, "float_switch", level_sensing="float")
    clean = odds({**NEVER_FULL, "float_ten_times": {"ten_of_ten": 10}}, "float_switch", level_sensing="float")
    missed = odds({**NEVER_FULL, "float_ten_times": {"ten_of_ten": 9, "misses": 1}}, "float_switch",
                  level_sensing="float")
    assert before > 0.2, "the switch is a real suspect before it is proved"
    assert clean < 0.1, "ten clean trials make it a poor suspect"
    assert missed > 20, "one miss is more than twenty to one against it"
    assert missed / clean > 400


def test_five_clean_trials_say_less_than_ten() -> None:
    # Common practice, no source: a short run does not clear an intermittent contact.
    def against_the_plug(times: int) -> float:
        story: Story = {**NEVER_FULL, "float_ten_times": {"ten_of_ten": times}}
        modes = belief(story, level_sensing="float").marginals_of("modes")
        return modes["float_switch.misses"] / modes["loop_plug.crimp_loose"]

    ratio = against_the_plug(5) / against_the_plug(10)
    assert ratio == pytest.approx(0.7**-5, rel=0.05), "each clean trial leaves 0.7 of it (it shows in 30 of 100)"


def test_bridging_the_loop_at_the_board_clears_the_board_and_blames_the_switch_or_its_lead() -> None:
    # Common practice, no source.
    story: Story = {"stuck_filling": "present", "look_reservoir": "over"}
    before = belief(story).marginals_of("components")
    after = belief({**story, "bridge_loop": "goes_on"}).marginals_of("components")
    assert after["board"] < 0.2 * before["board"]
    blamed = sum(after[c] for c in ("float_switch", "pin_set", "loop_lead", "loop_plug"))
    assert blamed > 0.95
    stays = belief({**story, "bridge_loop": "stays"}).marginals_of("components")
    assert stays["board"] > 5 * before["board"], "a loop that is closed at the board and not seen blames the board"


def test_the_board_is_very_seldom_the_cause() -> None:
    # Common practice, no source: about one call in a hundred at the most.
    assert belief({}).marginals_of("components")["board"] < 0.015


@pytest.mark.parametrize("symptom", list(ICE_MAKER.model.equipment.symptoms))
def test_no_single_complaint_makes_the_board_the_first_suspect(symptom: str) -> None:
    # Common practice, no source.
    ranked = advice({symptom: "present"}).components
    assert "board" not in [c.component for c in ranked[:3]]


@pytest.mark.parametrize("complaint", ["stuck_filling", "no_water_heard", "slow_fill"])
def test_supply_water_is_proved_before_anything_downstream_of_it(complaint: str) -> None:
    # Common practice, no source.
    order = rank_tests(belief({complaint: "present", "look_lamp": "amber"}), TECHNICIAN, Economics()).open()
    first_on_water = min(order.index("look_tap"), order.index("bucket_flow"))
    for downstream in ("fill_valve_volts", "inlet_coil_ohms", "inlet_direct_feed", "look_strainer", "filter_bypass"):
        assert downstream not in order or first_on_water < order.index(downstream)


def test_what_a_latched_alarm_was_about_is_looked_at_before_it_is_cleared() -> None:
    # Common practice, no source: switching off wipes the alarm, so it is read first.
    story: Story = {"no_ice": "present", "amber_blinks": "present"}
    ranking = rank_tests(belief(story), TECHNICIAN, Economics())
    wiping = [n for n in ranking.open() if "read_alarm" in ranking.work.destroys.get(n, ())]
    assert len(wiping) > 10
    for name in wiping:
        assert "read_alarm" in ranking.looks(name)
        assert ranking.open().index("read_alarm") < ranking.open().index(name)
    read = rank_tests(belief({**story, "read_alarm": "three"}), TECHNICIAN, Economics())
    assert not any("read_alarm" in read.looks(name) for name in read.open()), "once read it may be cleared"


def test_a_switch_that_reads_closed_while_the_tank_is_empty_is_stuck() -> None:
    # Common practice, no source.
    story: Story = {"no_ice": "present", "look_reservoir": "empty", "read_alarm": "four"}
    before = belief(story, level_sensing="float").marginals_of("modes")["float_switch.stuck_closed"]
    after = belief({**story, "float_empty_ohms": "closed"}, level_sensing="float")
    assert before < 0.95
    assert after.marginals_of("modes")["float_switch.stuck_closed"] > 0.99


@pytest.mark.parametrize(
    "complaint", ["machine_dead", "little_ice", "stuck_filling", "ice_wont_drop", "water_on_floor"]
)
def test_the_first_suggestions_are_cheap_looks_and_questions_not_parts(complaint: str) -> None:
    # Common practice, no source.
    answer = advice({complaint: "present"})
    assert answer.next_step.kind in ("ask", "test")
    for test in answer.next_tests[:3]:
        assert test.minutes <= 7
        assert not test.hazards
        assert test.role == "site_contact"


def test_once_the_blinks_are_counted_nobody_asks_which_lamp_is_lit() -> None:
    # Common practice, no source: a counted alarm leads to what it names, here the hot gas valve.
    answer = advice({"ice_wont_drop": "present", "read_alarm": "six"})
    assert answer.next_step.id not in ("look_lamp", "amber_blinks")
    assert answer.suspects[0].component == "hot_gas_valve"


def test_a_dirty_stem_is_cleaned_before_the_switch_is_replaced() -> None:
    # Common practice, no source.
    answer = advice({"stuck_filling": "present", "look_reservoir": "over", "look_level_kind": "float",
                     "look_float": "hangs", "read_alarm": "two"})
    assert answer.suspects[0].failure_mode == "float_switch.float_fouled"
    assert answer.next_remedies[0].remedy == "clean_float"


def test_nobody_on_site_is_offered_a_hazard_or_a_cover() -> None:
    # Common practice, no source: who is not trained does not work behind panels.
    equipment = ICE_MAKER.model.equipment
    for complaint in equipment.symptoms:
        for test in advice({complaint: "present"}, Asker(role="site_contact")).next_tests:
            assert test.role == "site_contact"
            assert not test.hazards
            assert "front_panel" not in test.needs
            assert "electrics_cover" not in test.needs


def test_work_on_the_refrigerant_circuit_asks_for_a_licence_and_carries_its_cautions() -> None:
    # Common practice, no source; R-290 burns (CHECK: IEC 60335-2-89 treats it as A3).
    equipment = ICE_MAKER.model.equipment
    jobs: list[Observation | Remedy] = [*equipment.observations.values(), *equipment.remedies.values()]
    circuit = [j for j in jobs if {"flammable_refrigerant", "pressurised_circuit"} & set(j.hazards)]
    assert len(circuit) >= 5
    assert all(j.licence == "refrigeration" for j in circuit)
    capacitor = [j for j in jobs if "capacitor" in j.id]
    assert capacitor
    assert all("stored_charge" in j.hazards for j in capacitor)
