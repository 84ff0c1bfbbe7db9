"""Rules that read: what they take for a phrase, a bare number, a reset, a licence's work."""

from __future__ import annotations

import pytest

from graph.lint.rules.phrase_shared import normal
from tests.graph.lint.test_rules import remarks, urn


@pytest.mark.parametrize(("one", "other"), [
    ("It's leaking all over the floor.", "leaks over floor, all over!"),
    ("There is NO ice", "no ice, again"),
    ("The tap\u2019s dripping", "the taps drip"),
])
def test_phrases_that_differ_in_small_things_are_the_same(one: str, other: str) -> None:
    assert normal(one) == normal(other)


@pytest.mark.parametrize(("one", "other"), [
    ("It is on", "It is off"), ("It heats", "It doesn't heat"), ("It never stops", "It stops"), ("No ice", "Ice"),
    ("Water on the floor", "Water in the tank"),
])
def test_words_that_turn_the_meaning_count(one: str, other: str) -> None:
    assert normal(one) != normal(other)


def test_a_phrase_of_small_words_alone_is_not_empty() -> None:
    assert normal("It is on and off again")
    assert normal("it is") == ("is", "it")


def codes(how: str) -> list[str]:
    return [d.code for d in remarks(urn(f"tests: {{look_tap: {{how: [\"{how}\"]}}}}"))]


@pytest.mark.parametrize("how", [
    "It should read 24 to 29.", "Wait for 12, then look.", "Expect 230 and no less.",
])
def test_a_bare_number_is_reported(how: str) -> None:
    assert codes(how) == ["number-without-unit"]


@pytest.mark.parametrize("how", [
    "It should read 24 to 29 Ω.", "Wait 12 minutes, then look.", "Above 3.5 K it is worn.", "Plug J4 off, then P1.",
    "Dial at 5.", "Blink count 4.", "Do it 10 times.", "0 and 5 V by turns.", "Near 0, or open.", "Use code 17.",
])
def test_numbers_that_say_what_they_are_pass(how: str) -> None:
    assert codes(how) == []


@pytest.mark.parametrize("how", [
    "Switch it off and on.", "Clear the alarm first.", "Drain it into a bucket.", "Thaw the plate.", "Reset once.",
])
def test_a_reset_that_disturbs_nothing_is_reported(how: str) -> None:
    assert codes(how) == ["reset-disturbs-nothing"]


@pytest.mark.parametrize("how", [
    "Never switch it off and on.", "Look before you clear the alarm.", "Pour a litre into the drain.",
    "Press the reset button and see whether it clicks.",
])
def test_words_that_only_sound_like_a_reset_pass(how: str) -> None:
    assert codes(how) == []


@pytest.mark.parametrize(("title", "licence"), [
    ("Flammable refrigerant in the pipes", "refrigeration"), ("Unburnt gas in the chamber", "gas"),
    ("Hot gas line burns", None),
])
def test_the_licence_that_a_hazard_wants(title: str, licence: str | None) -> None:
    found = remarks(urn(f"hazards: {{hot_water: {{title: {title}}}}}"))
    wanted = {d.expected for d in found if d.code == "licence-missing"}
    assert wanted == ({f"`licence: {licence}`"} if licence else set())
