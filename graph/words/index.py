"""The wordings of symptoms as arrays: signed concepts and n-grams of letters.

Made from the titles and phrases of graph documents, once a revision.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from graph.equipment import Equipment
from graph.hypotheses import Floats, Ints
from graph.words.clauses import Clause, clauses_of
from graph.words.spelling import Spelling
from graph.words.stems import words_of
from graph.words.thesaurus import STATES, WEAK, everyday, vocabulary

if TYPE_CHECKING:
    from scipy import sparse

LETTERS = (3, 4)
"""Lengths of the n-grams of letters."""
THING = 0.55
"""What a thing weighs beside a state: every symptom of an ice maker speaks of ice."""

EVERYDAY = 0.5
"""What a word of everyday talk in a wording weighs beside a word of the trade."""


@dataclass(frozen=True, slots=True)
class Wording:
    """One way to say a symptom."""

    equipment: str
    symptom: str
    text: str


@dataclass(frozen=True, slots=True, eq=False)
class Index:
    """W wordings of S symptoms.

    `said` (W) are the concepts of each,
    `signed` (W x C) holds the weight of each concept with its sign, `whole` (W) the weights of a wording together;
    `grams` maps an n-gram to its wordings and weights. `symptoms` are (equipment, symptom), `of` (W) their places in
    rising order, `starts` (S) the first wording of each and `counts` (S) how many it has. `denying` (W) are those with
    a word that denies.
    """

    wordings: tuple[Wording, ...]
    symptoms: tuple[tuple[str, str], ...]
    of: Ints
    starts: Ints
    counts: Ints
    said: tuple[frozenset[str], ...]
    concepts: Mapping[str, int]
    weights: Floats
    states: np.ndarray[tuple[int], np.dtype[np.bool_]]
    denying: np.ndarray[tuple[int], np.dtype[np.bool_]]
    signed: sparse.csc_array
    has_state: np.ndarray[tuple[int], np.dtype[np.bool_]]
    whole: Floats
    grams: Mapping[str, tuple[Ints, Floats]]
    gram_weights: Mapping[str, float]
    spelling: Spelling
    unseen: float
    """The weight of a word that no wording has."""
    machines: int
    """How many machines the wordings are of."""


def wordings_of(equipment: Iterable[Equipment]) -> list[Wording]:
    """The titles and phrases of all symptoms."""
    return [
        Wording(machine.id, symptom.id, text)
        for machine in equipment for symptom in machine.symptoms.values()
        for text in dict.fromkeys((symptom.title, *symptom.phrases))
    ]


def index_of(equipment: Sequence[Equipment]) -> Index:
    """The index of one or several machines."""
    return indexed(wordings_of(equipment))


def indexed(wordings: Sequence[Wording]) -> Index:
    """The index of given wordings."""
    from scipy import sparse  # a third of a second that a service's start need not wait for

    places: dict[tuple[str, str], int] = {}
    for wording in wordings:
        places.setdefault((wording.equipment, wording.symptom), len(places))
    wordings = sorted(wordings, key=lambda w: places[w.equipment, w.symptom])
    of = np.array([places[w.equipment, w.symptom] for w in wordings], dtype=np.int64)
    clauses = [clauses_of(w.text) for w in wordings]
    said = [_signs(some) for some in clauses]
    concepts: dict[str, int] = {}
    users: dict[str, set[int]] = defaultdict(set)
    state: dict[str, bool] = {}
    for place, signs in zip(of.tolist(), said, strict=True):
        for concept, (_, is_state) in signs.items():
            concepts.setdefault(concept, len(concepts))
            users[concept].add(place)
            state[concept] = is_state
    count = max(1, len(places))
    rarity = np.array([np.log((count + 1) / len(users[c])) for c in concepts])
    states = np.array([state[c] for c in concepts], dtype=bool)
    told = np.array([WEAK.get(c, EVERYDAY if c in everyday() and c not in STATES else 1.0) for c in concepts])
    weights = np.maximum(rarity, 0.5) * np.where(states, 1.0, THING) * told
    rows, columns, values = [], [], []
    for row, signs in enumerate(said):
        for concept, (sign, _) in signs.items():
            if not sign:
                continue
            rows.append(row)
            columns.append(concepts[concept])
            values.append(sign * weights[concepts[concept]])
    signed = sparse.csc_array((values, (rows, columns)), shape=(len(wordings), len(concepts)))
    whole = np.asarray(abs(signed).sum(axis=1), dtype=np.float64).reshape(-1)
    has_state = np.asarray((abs(signed) @ states.astype(float)) > 0)
    grams, gram_weights = _grams(wordings)
    written = {w.text for wording in wordings for w in words_of(wording.text) if w.text.isalpha()}
    spelling = Spelling(written | vocabulary())
    denying = np.array([any(c.denies for c in some) for some in clauses], dtype=bool)
    unseen = float(np.median(weights)) if len(weights) else 1.0
    return Index(
        tuple(wordings), tuple(places), of, np.searchsorted(of, np.arange(len(places))),
        np.bincount(of, minlength=len(places)), tuple(frozenset(signs) for signs in said),
        concepts, weights, states, denying, signed, has_state, whole,
        grams, gram_weights, spelling, unseen, len({machine for machine, _ in places}),
    )


def _signs(clauses: Sequence[Clause]) -> dict[str, tuple[int, bool]]:
    """The sign of each concept of a wording, the first one that it has, and whether it is a state."""
    signs: dict[str, tuple[int, bool]] = {}
    for clause in clauses:
        for feature in clause.features:
            signs.setdefault(feature.concept, (feature.sign, feature.state))
    return signs


def letters_of(text: str) -> Counter[str]:
    """The n-grams of letters of a text, within words."""
    words = [f" {w.text} " for w in words_of(text) if w.text[0].isalnum()]
    return Counter(w[i: i + n] for w in words for n in LETTERS for i in range(len(w) - n + 1))


def _grams(wordings: Sequence[Wording]) -> tuple[dict[str, tuple[Ints, Floats]], dict[str, float]]:
    counts = [letters_of(w.text) for w in wordings]
    used = Counter(g for c in counts for g in c)
    rare = {g: float(np.log((1 + len(wordings)) / n)) for g, n in used.items()}
    lists: dict[str, tuple[list[int], list[float]]] = defaultdict(lambda: ([], []))
    for row, count in enumerate(counts):
        norm = float(np.sqrt(sum((n * rare[g]) ** 2 for g, n in count.items()))) or 1.0
        for g, n in count.items():
            lists[g][0].append(row)
            lists[g][1].append(n * rare[g] / norm)
    return {g: (np.array(r, dtype=np.int64), np.array(v)) for g, (r, v) in lists.items()}, rare
