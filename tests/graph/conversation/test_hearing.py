from __future__ import annotations

from dataclasses import replace

import pytest

from graph.compile import CompiledModel
from graph.conversation.hearing import SURE, _by_number, direction, hear
from graph.equipment import Outcome


@pytest.mark.parametrize(("about", "said", "outcome"), [
    ("look_lamp", "it's green", "green"), ("look_lamp", "an orange one, flashing", "amber"),
    ("look_lamp", "blue", "blue"), ("look_tap", "it's open", "open"), ("look_selector", "on make", "at_make"),
    ("look_selector", "it points at off", "at_off"), ("read_alarm", "three", "three"), ("read_alarm", "I counted "
        "5", "five"),
    ("look_supply", "the plug was out", "off"), ("look_bin", "full", "full"), ("look_air_filter", "very greasy",
    "clogged"),
    ("look_grille", "there is a box in front of it", "covered"), ("cloudy_ice", "white all through", "present"),
    ("gurgles", "yes it does", "present"), ("noisy", "nope", "absent"), ("water_on_floor", "it is leaking", "present"),
])
def test_an_answer_in_own_words_is_an_outcome(ice_maker: CompiledModel, about: str, said: str, outcome: str) -> None:
    heard = hear(ice_maker.equipment.observations[about], said)
    assert heard.outcome == outcome


@pytest.mark.parametrize(("title", "said", "held"), [
    ("At 4 or more", "5", True), ("At 4 or more", "it's at 3", False), ("At 3 or less", "three", True),
    ("2.5 to 6 minutes", "about 4 minutes", True), ("Under 2 minutes", "3", False),
    ("\u221222 to \u221217 °C", "minus 18", True), ("\u221215 to \u22125 °C", "-8 degrees", True),
    ("Above \u22125 °C", "two degrees", True), ("Below \u221225 °C", "-20", False),
])
def test_a_number_is_the_answer_whose_range_holds_it(
    ice_maker: CompiledModel, title: str, said: str, held: bool
) -> None:
    dial = ice_maker.equipment.observations["look_dial"]
    heard = _by_number(replace(dial, outcomes=(Outcome("within", title), Outcome("dark", "Nothing to be read"))), said)
    assert (heard == "within") is held


def test_a_bare_yes_means_what_the_question_says(ice_maker: CompiledModel) -> None:
    hears_water = ice_maker.equipment.observations["no_water_heard"]
    assert direction(hears_water) == -1
    assert hear(hears_water, "no").outcome == "present"
    assert hear(hears_water, "no").confirm is None
    assert direction(ice_maker.equipment.observations["gurgles"]) == 1


def test_a_bare_yes_to_a_question_with_two_sides_is_confirmed(ice_maker: CompiledModel) -> None:
    two_sided = ice_maker.equipment.observations["hollow_cubes"]
    assert direction(two_sided) == 0
    heard = hear(two_sided, "yes")
    assert heard.confidence < SURE
    assert heard.confirm is not None and two_sided.title in heard.confirm


@pytest.mark.parametrize("said", ["I don't know", "can't see it from here", "no idea, sorry", "hard to say"])
def test_not_knowing_is_an_answer(ice_maker: CompiledModel, said: str) -> None:
    assert hear(ice_maker.equipment.observations["look_lamp"], said).outcome == "could_not_tell"


def test_hedging_asks_for_a_confirmation(ice_maker: CompiledModel) -> None:
    sure = hear(ice_maker.equipment.observations["look_lamp"], "blue")
    hedged = hear(ice_maker.equipment.observations["look_lamp"], "blue, I think")
    assert hedged.outcome == sure.outcome == "blue"
    assert hedged.confidence < sure.confidence
    assert hedged.confirm is not None


@pytest.mark.parametrize("said", ["banana", "", "my invoice"])
def test_what_is_not_understood_is_asked_again(ice_maker: CompiledModel, said: str) -> None:
    heard = hear(ice_maker.equipment.observations["look_lamp"], said)
    assert heard.outcome is None
    assert heard.confirm is not None and "Blue" in heard.confirm


def test_a_danger_in_an_answer_comes_first(ice_maker: CompiledModel) -> None:
    heard = hear(ice_maker.equipment.observations["look_lamp"], "green, and it smells of burning")
    assert heard.outcome is None
    assert [d.kind for d in heard.dangers] == ["burning_smell"]
