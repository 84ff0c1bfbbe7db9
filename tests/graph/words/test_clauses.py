from __future__ import annotations

import pytest

from graph.words.clauses import clauses_of


def signs(text: str) -> dict[str, int]:
    return {f.concept: f.sign for clause in clauses_of(text) for f in clause.features}


@pytest.mark.parametrize(("text", "concept", "sign"), [
    ("it is leaking", "leak", 1),
    ("it isn't leaking", "leak", -1),
    ("it isnt leaking", "leak", -1),
    ("no, it isn't leaking", "leak", -1),
    ("it no longer leaks", "leak", -1),
    ("it used to leak", "leak", -1),
    ("it leaks more than it used to", "leak", 1),
    ("it stopped leaking", "leak", -1),
    ("it never stops filling", "fill", 1),
    ("it never stops filling", "stop", -1),
    ("it isn't only leaking", "leak", 1),
    ("without leaking", "leak", -1),
    ("nothing is leaking", "leak", -1),
    ("not cold", "cold", -1),
    ("it's warm", "cold", -1),
    ("it isn't warm", "cold", 1),
    ("there is no ice", "ice", -1),
    ("it isn't making any ice", "ice", -1),
    ("the ice machine isn't making ice", "ice", -1),
    ("it blows no air", "blow", -1),
    ("the blue light isn't on", "blue", -1),
    ("I can't hear any water", "water", -1),
    ("white instead of clear", "cloudy", 1),
])
def test_a_concept_has_the_sign_that_was_meant(text: str, concept: str, sign: int) -> None:
    assert signs(text)[concept] == sign


def test_a_negation_ends_with_its_clause() -> None:
    assert signs("it isn't leaking but the ice is cloudy") == {"leak": -1, "ice": 1, "cloudy": 1}
    assert signs("no noise when it fills")["fill"] == 1


def test_a_list_with_or_is_denied_to_its_end() -> None:
    assert {signs("it doesn't rattle, hum or leak")[c] for c in ("rattle", "hum", "leak")} == {-1}


def test_what_follows_apart_from_is_said() -> None:
    first, second = clauses_of("it runs fine apart from the rattle")
    assert first.fine and not second.fine
    assert second.features[0].sign == 1


def test_fine_is_heard_and_intermittent_is_stronger() -> None:
    assert clauses_of("the drain is fine")[0].fine
    assert not clauses_of("some days it's fine")[0].fine


def test_clauses_say_where_they_stand() -> None:
    text = "hello. The ice is cloudy, and it leaks"
    assert [text[c.start:c.end] for c in clauses_of(text)] == ["The ice is cloudy", "it leaks"]
