from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np

from graph.equipment import Equipment
from graph.words.index import Index, Wording, index_of, indexed
from graph.words.matching import complaints_of
from graph.words.meaning import Meant
from graph.words.stems import words_of
from schemas.load import load_text
from tests.graph.words.said import everything, second, third

FOLDER = Path("fixtures/equipment")


@lru_cache(maxsize=1)
def machines() -> dict[str, Equipment]:
    spoken_of = {s.equipment for s in (*everything(), *second(), *third()) if s.equipment}
    return {name: load_text((FOLDER / f"{name}.yaml").read_bytes(), name) for name in sorted(spoken_of)}


@lru_cache(maxsize=8)
def index(name: str) -> Index:
    return index_of([machines()[name]] if name else list(machines().values()))


def test_nothing_that_is_tested_is_indexed() -> None:
    def bare(text: str) -> str:
        return " ".join(w.text for w in words_of(text) if w.text.isalpha())

    indexed_here = {bare(w.text) for w in index("").wordings}
    matched = [s for s in (*everything(), *second(), *third()) if s.kind not in ("danger", "harmless")]
    assert not [s.text for s in matched if bare(s.text) in indexed_here]


def test_the_set_is_large_enough() -> None:
    kinds = [s.kind for s in everything()]
    assert len(kinds) >= 320
    assert len(second()) >= 320
    assert len(third()) >= 480
    assert kinds.count("danger") >= 60
    assert kinds.count("harmless") >= 30


def small() -> Index:
    return indexed([
        Wording("m", "leak", "There is water on the floor"), Wording("m", "leak", "It leaks"),
        Wording("m", "cold", "It doesn't get cold"), Wording("m", "noise", "It rattles loudly"),
    ])


def test_a_denied_symptom_is_absent_and_nothing_else() -> None:
    (complaint,) = complaints_of(small(), "no, it isn't leaking")
    assert [(m.symptom, m.present) for m in complaint.matches] == [("leak", False)]


def test_not_cold_is_a_symptom_itself() -> None:
    (complaint,) = complaints_of(small(), "it isn't cold")
    assert (complaint.matches[0].symptom, complaint.matches[0].present) == ("cold", True)
    (warm,) = complaints_of(small(), "it's warm")
    assert (warm.matches[0].symptom, warm.matches[0].present) == ("cold", True)


def test_cold_enough_speaks_of_the_cold() -> None:
    (complaint,) = complaints_of(small(), "it isn't cold enough")
    assert (complaint.matches[0].symptom, complaint.matches[0].present) == ("cold", True)


def test_what_works_is_not_what_is_only_named() -> None:
    ours = indexed([Wording("m", "out", "The bulb inside is out"), Wording("m", "leak", "It leaks")])
    assert [m.symptom for c in complaints_of(ours, "the bulb inside") for m in c.matches if m.present] == ["out"]
    assert not [m for c in complaints_of(ours, "the bulb inside works") for m in c.matches if m.present]


def test_a_denial_does_not_reach_the_place_behind_it() -> None:
    ours = indexed([Wording("m", "flat", "There's no head on the beer"), Wording("m", "leak", "It leaks")])
    (complaint,) = complaints_of(ours, "the beer has no head")
    assert (complaint.matches[0].symptom, complaint.matches[0].present) == ("flat", True)


def test_an_index_knows_of_how_many_machines_it_is() -> None:
    one = indexed([Wording("m", "leak", "It leaks"), Wording("m", "noise", "It rattles")])
    two = indexed([Wording("m", "leak", "It leaks"), Wording("n", "noise", "It rattles")])
    assert (one.machines, two.machines) == (1, 2)


def test_ordinary_words_are_left_as_they_are() -> None:
    spelling = index("quillmere-w50").spelling
    assert [spelling.right(w) for w in ("filters", "scale", "newer", "hose", "flour")] == [
        "filters", "scale", "newer", "hose", "flour"]
    assert spelling.right("glases") == "glasses"


def test_complaints_carry_their_words_and_places() -> None:
    text = "Hi, it leaks. And it rattles!"
    found = [c for c in complaints_of(small(), text) if c.matches]
    assert [c.matches[0].symptom for c in found] == ["leak", "noise"]
    assert [text[c.start:c.end] for c in found] == [c.text for c in found]
    assert found[0].matches[0].words == ("leaks",)


def test_the_same_words_give_the_same_answer() -> None:
    assert complaints_of(small(), "it leeks and ratles") == complaints_of(small(), "it leeks and ratles")
    assert complaints_of(small(), "") == []


def test_a_sentence_model_finds_what_no_word_does_and_never_what_is_denied() -> None:
    ours = small()

    def meaning(text: str) -> Meant:
        return Meant(np.array([0.9 * (w.symptom == "leak") for w in ours.wordings]), 0.4)

    (wet,) = complaints_of(ours, "my socks are soggy", meaning)
    assert wet.matches[0].symptom == "leak"
    (dry,) = complaints_of(ours, "it isn't leaking", meaning)
    assert all(not m.present for m in dry.matches)
    (working,) = complaints_of(ours, "the bulb works", meaning)
    assert not working.matches


def test_what_a_sentence_model_finds_beside_the_matter_is_no_complaint() -> None:
    ours = small()

    def meaning(text: str) -> Meant:
        return Meant(np.array([0.5 * (w.symptom == "leak") for w in ours.wordings]), -0.4)

    assert not [m for c in complaints_of(ours, "the neighbours have a pond", meaning) for m in c.matches]
