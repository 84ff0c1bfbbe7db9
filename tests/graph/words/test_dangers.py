from __future__ import annotations

import pytest

from graph.words.dangers import dangers_of, dangers_of_titles
from graph.words.instructions import KINDS, Kind
from tests.graph.words.said import everything, second, third

RED = [s for s in (*everything(), *second(), *third()) if s.kind == "danger"]
HARMLESS = [s for s in (*everything(), *second(), *third()) if s.kind == "harmless"]


def test_no_danger_is_missed() -> None:
    assert [s.text for s in RED if not dangers_of(s.text)] == []


def test_nearly_every_danger_is_of_its_kind() -> None:
    wrong = [s.text for s in RED if not any(d.kind in s.meant[0] for d in dangers_of(s.text))]
    assert len(wrong) <= 0.03 * len(RED), wrong


def test_what_only_looks_dangerous_is_mostly_told_apart() -> None:
    wrong = [s.text for s in HARMLESS if dangers_of(s.text)]
    assert len(wrong) <= 0.05 * len(HARMLESS), wrong


@pytest.mark.parametrize("text", [
    "no longer smells of gas", "I'm not sure whether it's smoke", "it isn't just a burning smell", "no, it "
        "smells of burning",
    "isn't there a smell of gas?", "it isn't leaking but it sparks", "it used to give me a shock",
    "the machine smels of burnig plastik", "she can't breathe", "he can't get up",
    "the plug came out burnt", "wisps of smoke at the door", "we put the fire out with the extinguisher",
])
def test_in_doubt_it_is_dangerous(text: str) -> None:
    assert dangers_of(text)


@pytest.mark.parametrize("text", [
    "no smoke, sparks or flames", "there is no smell of burning or gas", "nobody is hurt and nothing is smoking",
    "it is leaking", "the amber light flashes", "the ice is cloudy", "", "...",
    "the ice is stuck on the plate", "the spray arm is jammed", "it burns everything", "the spare filters",
    "the fire door", "it runs off an extension", "it can't get up to temperature", "the drinks taste of detergent",
])
def test_what_is_denied_or_ordinary_is_not(text: str) -> None:
    assert dangers_of(text) == ()


def test_each_kind_says_what_to_do_and_the_most_urgent_comes_first() -> None:
    assert all(title and len(steps) >= 2 for title, steps in KINDS.values())
    found = dangers_of("the breaker trips again and again, and now it is smoking and she is bleeding")
    assert [d.kind for d in found][:2] == ["injury", "smoke_or_fire"]
    assert "breaker" in [d.kind for d in found]


def test_an_ear_is_asked_only_where_no_cue_is_heard_and_nothing_is_denied() -> None:
    asked: list[str] = []

    def ear(text: str) -> Kind | None:
        asked.append(text)
        return "injury" if "wobbly" in text else None

    found = dangers_of("He went all wobbly. It smells of gas. There's no smoke. The fire door is shut. Fine", ear)
    assert [d.kind for d in found] == ["injury", "gas_smell"]
    assert asked == ["He went all wobbly", "Fine"]
    assert found[0].words == ("He went all wobbly",)


def test_titles_of_findings_are_heard_too() -> None:
    assert [d.kind for d in dangers_of_titles(["Trips the breaker"])] == ["breaker"]
    assert dangers_of_titles(["Green, steady", "Tap open, water on site"]) == ()
