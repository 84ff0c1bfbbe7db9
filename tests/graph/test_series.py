"""How often to repeat a test for a fault that comes and goes, and how sure a decision is."""

from __future__ import annotations

from typing import Any

import pytest

from graph.advice import advise
from graph.answers import Series
from graph.compile import CompiledModel, compile_model
from graph.context import Asker, Economics
from graph.evidence import finding
from schemas.load import load_data

ECONOMICS = Economics(labour_per_hour=60)


def level_switch(shows: float, minutes: float = 1.0, board: float = 300.0, rate: float = 60) -> CompiledModel:
    """A level switch that sticks now and then, or a board; the switch is dipped in water again and again."""
    document: dict[str, Any] = {
        "format": 1,
        "equipment": {"id": "tank", "title": "Tank", "category": "test", "two_faults_in_100": 0,
                      "nothing_wrong_in_100": 0, "unlisted_in_100": 0.5},
        "components": {
            "switch": {"title": "Level switch", "failure_modes": {"sticks": {
                "title": "sticks now and then", "calls_per_thousand": rate, "shows_in_100": shows,
                "remedies": ["replace_switch"]}}},
            "board": {"title": "Board", "failure_modes": {"dead": {
                "title": "input dead", "calls_per_thousand": 40, "remedies": ["replace_board"]}}},
        },
        "tests": {"dip": {
            "title": "Lower and raise the switch in water", "reveals": "switch", "minutes": 8 * minutes,
            "repeats": 8, "right_in_100": 100, "outcomes": {"follows": "otherwise", "misses": ["sticks"]},
        }},
        "remedies": {
            "replace_switch": {"title": "Replace the switch", "minutes": 30, "parts": {"switch_part": 1}},
            "replace_board": {"title": "Replace the board", "minutes": 15, "parts": {"board_part": 1}},
        },
        "parts": {
            "switch_part": {"number": "QT-1", "title": "Level switch", "price": 60},
            "board_part": {"number": "QT-2", "title": "Board", "price": board},
        },
    }
    return compile_model(load_data(document))


def series(model: CompiledModel) -> Series | None:
    answer = advise(model, [], asker=Asker(), economics=ECONOMICS)
    assert answer.next_step.id == "dip"
    return answer.next_tests[0].series


def test_a_clean_series_leaves_what_the_success_run_formula_says() -> None:
    # Check value 10 (success-run): n clean trials of a fault that shows with chance p leave (1 - p)^n of its odds.
    found = series(level_switch(30))
    assert found is not None
    clean = 0.7**found.times
    odds = found.chance_before / (1 - found.chance_before) * clean
    assert found.chance_after_clean == pytest.approx(odds / (1 + odds), rel=0.1)
    assert f"Do it {found.times} times" in found.sentence


def test_a_rarer_show_a_dearer_mistake_and_a_quicker_trial_ask_for_more_repeats() -> None:
    usual = series(level_switch(40))
    rare, dear, slow = series(level_switch(25)), series(level_switch(40, board=1500)), series(level_switch(40, 2))
    assert usual is not None
    assert rare is not None
    assert dear is not None
    assert slow is not None
    assert rare.times > usual.times >= 3
    assert dear.times >= usual.times
    assert slow.times < usual.times


def test_a_steady_fault_needs_no_series() -> None:
    assert series(level_switch(100)) is None


def test_the_rate_at_which_another_job_comes_first_is_where_it_really_does() -> None:
    model = level_switch(100, minutes=3)
    answer = advise(model, [], asker=Asker(), economics=ECONOMICS, margins=True)
    margin = next(m for m in answer.plan.margins if m.failure_mode == "switch.sticks")
    assert margin.factor is not None
    assert margin.then is not None
    for side, stays in ((0.97, True), (1.03, False)):
        factor = margin.factor * side if margin.factor > 1 else margin.factor / side
        other = level_switch(100, minutes=3, rate=60 * factor)
        first = advise(other, [], asker=Asker(), economics=ECONOMICS).next_step.id
        assert (first == answer.next_step.id) is stays
        assert stays or first == margin.then


def test_margins_are_given_only_where_asked_for() -> None:
    model = level_switch(100)
    assert advise(model, [finding(model, "dip", "follows")], asker=Asker()).plan.margins == ()
