"""How much is understood of what three sets of callers say, by words alone and with a sentence model."""

from __future__ import annotations

from functools import lru_cache

import pytest

from api.sentence_model import sentence_model
from api.wording import ear_for, meaning_of
from graph.words.dangers import dangers_of
from graph.words.matching import complaints_of
from tests.graph.words.said import Said, everything, half, second, third
from tests.graph.words.test_matching import index

WAYS = [
    pytest.param(False, id="words"),
    pytest.param(True, id="model", marks=pytest.mark.skipif(
        sentence_model() is None, reason="the sentence model's package is not installed")),
]
HALVES = pytest.mark.parametrize("held_out", [False, True], ids=["tuned", "held_out"])
EVERY = (*everything(), *second(), *third())


@lru_cache(maxsize=2_000)
def present(said: Said, by_model: bool) -> list[list[str]]:
    ours = index(said.equipment)
    found = complaints_of(ours, said.text, meaning_of(ours) if by_model else None)
    return [[m.symptom for m in c.matches if m.present] for c in found]


def right(said: Said, by_model: bool, places: int) -> bool:
    """Whether the meaning is among the first symptoms of the first complaint (one place), or of any complaint."""
    named = [found[:places] for found in present(said, by_model) if found]
    among = {s for found in (named[:1] if places == 1 and said.kind != "two" else named) for s in found}
    return all(among & meant for meant in said.meant)


@HALVES
@pytest.mark.parametrize("by_model", WAYS)
@pytest.mark.parametrize(("kind", "places", "by_words", "with_model"), [
    ("plain", 1, (0.98, 0.92), (0.98, 0.94)), ("typo", 1, (0.96, 0.92), (0.96, 0.94)),
    ("paraphrase", 3, (0.78, 0.68), (0.9, 0.84)), ("two", 1, (0.95, 0.95), (0.95, 0.95)),
])
def test_what_is_meant_is_found(
    kind: str, places: int, by_words: tuple[float, float], with_model: tuple[float, float], by_model: bool,
    held_out: bool,
) -> None:
    some = half(kind, held_out, EVERY)
    reached = sum(right(said, by_model, places) for said in some) / len(some)
    print(f"{kind}: {reached:.3f} of {len(some)}")
    assert reached >= (with_model if by_model else by_words)[held_out]


@HALVES
@pytest.mark.parametrize("by_model", WAYS)
def test_what_is_denied_is_not_said(by_model: bool, held_out: bool) -> None:
    some = half("negated", held_out, EVERY)
    wrong = sum(any(x in s.meant[0] for found in present(s, by_model) for x in found) for s in some) / len(some)
    print(f"denied and said: {wrong:.3f} of {len(some)}")
    assert wrong <= (0.06 if held_out and by_model else 0.03)


@HALVES
@pytest.mark.parametrize("by_model", WAYS)
def test_what_is_beside_the_matter_matches_nothing(by_model: bool, held_out: bool) -> None:
    some = half("nonsense", held_out, EVERY)
    wrong = sum(any(present(s, by_model)) for s in some) / len(some)
    print(f"beside the matter and matched: {wrong:.3f} of {len(some)}")
    assert wrong <= (0.07 if held_out else 0.05)


@pytest.mark.skipif(sentence_model() is None, reason="the sentence model's package is not installed")
def test_a_sentence_model_cries_wolf_seldom() -> None:
    ear = ear_for()
    some = [s for s in EVERY if s.kind == "harmless"]
    wrong = [s.text for s in some if dangers_of(s.text, ear)]
    assert len(wrong) <= 0.05 * len(some), wrong


@pytest.mark.skipif(sentence_model() is None, reason="the sentence model's package is not installed")
def test_a_sentence_model_hears_most_dangers_without_any_cue() -> None:
    ear = ear_for()
    assert ear is not None
    some = [s for s in EVERY if s.kind == "danger"]
    heard = [s for s in some if ear(s.text) is not None]
    assert len(heard) >= 0.7 * len(some)
    assert sum(ear(s.text) in s.meant[0] for s in heard) >= 0.85 * len(heard)
