"""From a caller's words to what they may mean, with the wordings of the graphs kept ready."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache

import numpy as np

from api.sentence_model import sentence_model
from graph.equipment import Equipment
from graph.hypotheses import Floats
from graph.words.alarms import ALARMING, ALARMS, QUIET
from graph.words.answers import WordMatches, word_matches
from graph.words.background import BESIDE_THE_MATTER
from graph.words.dangers import dangers_of
from graph.words.index import Index, index_of
from graph.words.instructions import Kind
from graph.words.machines import machines_of
from graph.words.matching import complaints_of
from graph.words.meaning import Ear, Meaning, Sense, ear_of, sense_of
from graph.words.measures import measures_of
from graph.words.sentences import Encoder


def heard(
    equipment: Sequence[Equipment], words: str, most: int, by_meaning: bool = False,
    known: Sequence[Equipment] | None = None,
) -> WordMatches:
    """What words may mean on these machines; `known` are those that they may name (these, if left out)."""
    index = index_for(tuple(equipment))
    complaints = complaints_of(index, words, meaning_of(index) if by_meaning else None)
    return word_matches(
        {e.id: e for e in equipment}, complaints, dangers_of(words, ear_for() if by_meaning else None),
        machines_of(equipment if known is None else known, words), measures_of(words), most,
    )


@lru_cache(maxsize=64)
def index_for(equipment: tuple[Equipment, ...]) -> Index:
    """The index of machines, kept: a new revision is another machine and gets another index."""
    return index_of(equipment)


def meaning_of(index: Index) -> Meaning | None:
    """What a sentence model makes of a text beside the wordings of an index; None where none is installed."""
    encoder = sentence_model()
    if encoder is None or not index.wordings:
        return None
    sense = _sense(index, encoder)
    return lambda text: sense.meant(_vector(encoder, text))


@lru_cache(maxsize=64)
def _sense(index: Index, encoder: Encoder) -> Sense:
    return sense_of(_vectors(encoder, (w.text for w in index.wordings)), index.starts, index.counts, _beside(encoder))


def ear_for() -> Callable[[str], Kind | None] | None:
    """What hears dangers by their likeness to examples; None where no sentence model is installed."""
    encoder = sentence_model()
    if encoder is None:
        return None
    ear = _ear(encoder)

    def heard_in(text: str) -> Kind | None:
        name = ear.heard(_vector(encoder, text), ALARMING)
        return next((kind for kind in ALARMS if kind == name), None)

    return heard_in


@lru_cache(maxsize=1)
def _ear(encoder: Encoder) -> Ear:
    examples: dict[str, Floats] = {kind: _vectors(encoder, some) for kind, some in ALARMS.items()}
    return ear_of(examples, _vectors(encoder, QUIET), _beside(encoder))


@lru_cache(maxsize=1)
def _beside(encoder: Encoder) -> Floats:
    return _vectors(encoder, BESIDE_THE_MATTER)


@lru_cache(maxsize=1_000)
def _vector(encoder: Encoder, text: str) -> Floats:
    return np.asarray(_vectors(encoder, [text])[0])


def _vectors(encoder: Encoder, texts: Iterable[str]) -> Floats:
    return np.asarray(encoder.vectors(list(texts)), dtype=np.float64)
