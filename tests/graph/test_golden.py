"""What the best technician would do: one case each, with the reason.

The reasons are common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from graph.advice import advise
from graph.answers import Advice
from graph.compile import CompiledModel, compile_model
from graph.context import Asker, Economics
from graph.evidence import finding
from graph.policy.calls import draw_calls, play
from graph.policy.contenders import ours
from graph.policy.lockout import GIVING_BACK, LOCKING_OUT
from graph.workload import workload
from schemas.load import load_data

EVERYTHING = Asker(licences=frozenset({"electrical", "refrigeration"}))
ECONOMICS = Economics(labour_per_hour=60, return_trip=140)
Plain = dict[str, Any]


def bench_heater(**changes: Plain) -> CompiledModel:
    """A heater with a thermostat, an element and a board; `changes` replace tests, remedies or parts by name."""
    document: Plain = {
        "format": 1,
        "equipment": {
            "id": "bench-heater", "title": "Bench heater", "category": "test", "two_faults_in_100": 0,
            "nothing_wrong_in_100": 1, "unlisted_in_100": 1,
        },
        "instruments": {"meter": "Multimeter"},
        "unit_states": {
            "power": {"title": "Power", "states": ["energised", "isolated"], "usual": "energised",
                      "minutes": {"isolated": 3, "energised": 2}, "lockout": "isolated",
                      "disturbs": {"isolated": ["lamp"]}},
            "panel": {"title": "Back panel", "states": ["on", "off"], "usual": "on", "minutes": {"off": 8, "on": 4}},
        },
        "components": {
            name: {"title": name, "failure_modes": {"bad": {
                "title": "not right", "calls_per_thousand": rate, "remedies": [f"replace_{name}"]}}}
            for name, rate in (("thermostat", 50), ("element", 45), ("board", 5))
        },
        "signals": {"lamp": {"title": "Fault lamp", "states": ["steady", "blinking", "dark"], "rules": [
            {"when": {"thermostat": "bad"}, "state": "blinking"}, {"when": {"element": "bad"}, "state": "steady"},
            {"state": "dark"},
        ]}},
        "tests": {
            "look_lamp": {"title": "Look at the lamp", "reveals": "lamp", "minutes": 1, "right_in_100": 90,
                          "outcomes": {"steady": ["steady"], "blinking": ["blinking"], "dark": "otherwise"}},
            "ohms": {"title": "Measure the element", "reveals": "element", "minutes": 4, "instruments": ["meter"],
                     "needs": {"power": "isolated", "panel": "off"}, "right_in_100": 99,
                     "outcomes": {"open": ["bad"], "good": "otherwise"}},
            "bridge": {"title": "Bridge the thermostat", "reveals": "thermostat", "minutes": 4,
                       "needs": {"power": "isolated", "panel": "off"}, "right_in_100": 97,
                       "outcomes": {"heats": ["bad"], "stays_cold": "otherwise"}},
        },
        "remedies": {
            "replace_thermostat": {"title": "Replace the thermostat", "minutes": 15, "parts": {"thermostat_part": 1},
                                   "needs": {"power": "isolated", "panel": "off"}},
            "replace_element": {"title": "Replace the element", "minutes": 25, "parts": {"element_part": 1},
                                "needs": {"power": "isolated", "panel": "off"}},
            "replace_board": {"title": "Replace the board", "minutes": 15, "parts": {"board_part": 1},
                              "needs": {"power": "isolated", "panel": "off"}},
        },
        "parts": {
            "thermostat_part": {"number": "QB-1", "title": "Thermostat", "price": 30},
            "element_part": {"number": "QB-2", "title": "Element", "price": 80},
            "board_part": {"number": "QB-3", "title": "Board", "price": 400},
        },
    }
    for section, entries in changes.items():
        for name, entry in entries.items():
            document[section][name] = {**document[section].get(name, {}), **entry}
    return compile_model(load_data(document))


def advice(model: CompiledModel, *found: tuple[str, str], asker: Asker = EVERYTHING, **more: Any) -> Advice:
    findings = [finding(model, about, outcome) for about, outcome in found]
    return advise(model, findings, asker=asker, economics=ECONOMICS, **more)


def test_the_lamp_is_read_before_the_supply_is_cut() -> None:
    # Isolating blanks the lamp: a minute's look now saves a measurement later.
    answer = advice(bench_heater())
    assert answer.next_step.id == "look_lamp"
    stake = next(s for s in answer.plan.at_stake if s.look == "look_lamp")
    assert stake.bits > 0.5
    assert stake.saves is not None
    assert stake.saves > 1


def test_a_lamp_that_says_nothing_is_not_waited_for() -> None:
    # Evidence that is worth less than the wait may go.
    answer = advice(bench_heater(tests={"look_lamp": {"right_in_100": 34, "minutes": 15}}))
    assert answer.next_step.id != "look_lamp"


def test_an_alarm_is_counted_before_anything_that_wipes_it(ice_maker: CompiledModel) -> None:
    # The count names the phase that failed; the plug, the wall switch and the breaker wipe it.
    answer = advice(ice_maker, ("no_ice", "present"), ("amber_blinks", "present"))
    assert answer.next_step.id == "read_alarm"
    wiping = workload(ice_maker.equipment, EVERYTHING).destroys
    assert "read_alarm" not in wiping.get(answer.next_step.id, ())
    later = advice(ice_maker, ("no_ice", "present"), ("amber_blinks", "present"), ("capacitor_check", "right"))
    assert all(t.test != "read_alarm" for t in later.next_tests), "it is gone once the machine was isolated"


def test_two_tests_behind_one_panel_go_together() -> None:
    # With the panel off and the supply locked out the second measurement costs four minutes instead of fifteen.
    model = bench_heater(tests={
        "look_lamp": {"right_in_100": 50, "minutes": 5},
        "ohms": {"right_in_100": 80}, "bridge": {"right_in_100": 95},
    }, parts={"thermostat_part": {"price": 150}})
    fresh = {t.test: t.minutes for t in advice(model).next_tests}
    answer = advice(model, ("ohms", "good"))
    assert answer.next_step.id == "bridge"
    assert answer.next_step.switching == ()
    assert fresh["bridge"] == pytest.approx(4 + 8 + 3)
    assert next(t for t in answer.next_tests if t.test == "bridge").minutes == pytest.approx(4)


def test_a_cheap_likely_swap_beats_a_long_test() -> None:
    # A two-minute swap of a part at 3 EUR that cures half the calls is its own best test.
    model = bench_heater(
        tests={"look_lamp": {"right_in_100": 34}, "ohms": {"minutes": 40}, "bridge": {"minutes": 40}},
        remedies={"replace_thermostat": {"minutes": 2}}, parts={"thermostat_part": {"price": 3}},
    )
    assert advice(model).next_step.id == "replace_thermostat"


def test_without_a_meter_the_substitute_check_is_offered_and_the_meter_is_priced() -> None:
    # Bridging needs no instrument; what the meter would have saved is said.
    model = bench_heater(
        tests={"look_lamp": {"right_in_100": 34}, "bridge": {"minutes": 15, "right_in_100": 75}},
        parts={"thermostat_part": {"price": 120}},
    )
    bare = Asker(licences=EVERYTHING.licences, instruments=frozenset())
    assert advice(model).next_step.id == "ohms"
    answer = advice(model, asker=bare)
    assert answer.next_step.id == "bridge"
    meter = next(b for b in answer.blocked_tests if b.test == "ohms")
    assert meter.missing == ("Multimeter",)
    assert meter.saves_minutes is not None
    assert meter.saves_minutes > 1
    assert "would save" in meter.sentence


def test_a_site_contact_gets_only_safe_looks(ice_maker: CompiledModel) -> None:
    # Nobody without training is asked to open a panel or to touch anything that can hurt.
    contact = Asker(role="site_contact")
    for symptom in ice_maker.equipment.symptoms:
        answer = advice(ice_maker, (symptom, "present"), asker=contact)
        for test in answer.next_tests:
            assert test.role == "site_contact"
            assert not test.hazards
        for repair in answer.next_remedies:
            assert repair.role == "site_contact"
            assert not repair.hazards


def test_an_expensive_board_is_never_first_without_near_certainty(ice_maker: CompiledModel) -> None:
    # The control board is seldom to blame and costs most; it is condemned last.
    for symptom in ice_maker.equipment.symptoms:
        answer = advice(ice_maker, (symptom, "present"))
        assert answer.next_step.id != "replace_board"
    model = bench_heater()
    for lamp in ("steady", "blinking", "dark"):
        assert advice(model, ("look_lamp", lamp)).next_step.id != "replace_board"
    eliminated = (("look_lamp", "dark"), ("ohms", "good"), ("bridge", "stays_cold"))
    likely = advice(model, *eliminated)
    assert likely.suspects[0].failure_mode == "board.bad"
    assert likely.next_step.id == "replace_thermostat", "45 for a try against 400 and more for a wrong board"
    certain = advice(model, *eliminated, ("replace_thermostat", "still_faulty"))
    assert certain.suspects[0].chance > 0.9
    assert certain.next_step.id == "replace_board"


def test_the_supply_is_given_back_before_a_live_test_and_locked_out_before_the_rest() -> None:
    # A live test on a dead machine tells nothing; work on a live one kills.
    # US OSHA 29 CFR 1910.147(d), seen: prepare, shut down, isolate, lock, release stored energy, verify.
    assert [s.split(" ")[0].strip(":") for s in LOCKING_OUT] == [
        "Prepare", "Shut", "Isolate", "Lock", "Release", "Verify",
    ]
    model = bench_heater(unit_states={"power": {"disturbs": {}}}, tests={"ohms": {"right_in_100": 60}})
    first = advice(model, ("look_lamp", "steady"))
    assert first.next_step.id is not None
    assert first.next_step.switching[: len(LOCKING_OUT)] == LOCKING_OUT
    isolated = Asker(licences=EVERYTHING.licences, unit_state=(("power", "isolated"),))
    live = advice(model, asker=isolated)
    lamp = next(t for t in live.next_tests if t.test == "look_lamp")
    assert lamp.minutes == pytest.approx(1 + 2), "giving the supply back is part of the look"
    if live.next_step.id == "look_lamp":
        assert live.next_step.switching[-len(GIVING_BACK):] == GIVING_BACK


def test_no_visit_makes_a_live_test_on_a_machine_that_is_locked_out(ice_maker: CompiledModel) -> None:
    # Every job of a whole visit finds the supply as it needs it, because switching is part of the job.
    equipment = ice_maker.equipment
    for call in draw_calls(ice_maker, 12, seed=4):
        visit = play(ice_maker, call, ours(0), EVERYTHING, ECONOMICS)
        power = "energised"
        for name in visit.jobs:
            job = equipment.observations.get(name) or equipment.remedies[name]
            after = dict(workload(equipment, Asker(unit_state=(("power", power),))).after[name])
            wanted = dict(job.needs).get("power")
            if wanted is not None and name in equipment.observations:
                assert after["power"] == wanted
            power = after["power"]


def test_an_unlikely_part_that_is_not_on_the_van_means_coming_back() -> None:
    # Parts are not at hand: the repair is a return trip, and the answer says so.
    model = bench_heater()
    empty = Asker(licences=EVERYTHING.licences, parts=frozenset())
    found = (("look_lamp", "steady"), ("ohms", "open"))
    assert advice(model, *found).next_step.kind == "repair"
    answer = advice(model, *found, asker=empty)
    assert answer.next_step.kind in ("return", "support")
    stocked = Asker(licences=EVERYTHING.licences, parts=frozenset({("element_part", 1)}))
    assert advice(model, *found, asker=stocked).next_step.kind == "repair"
    held, bare = advice(model, *found, asker=stocked).plan.expected_cost, answer.plan.expected_cost
    assert held is not None
    assert bare is not None
    assert bare > held + 0.9 * ECONOMICS.return_trip * answer.suspects[0].chance
