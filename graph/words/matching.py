"""Which symptoms a message speaks of: complaint by complaint, with what it denies.

A complaint is scored by how much of its weight a wording shares, sign by sign, and how much of the wording it says;
n-grams of letters join in for what no word carries. Where signs clash the symptom is denied, never said. A complaint
most of whose weight is foreign to every wording matches nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from graph.hypotheses import Floats
from graph.signals import Bools
from graph.words.clauses import Clause, Feature, clauses_of
from graph.words.index import Index, letters_of
from graph.words.meaning import Meaning
from graph.words.thesaurus import elsewhere, everyday

LEAST = 0.42
"""Score below which nothing is plausible."""
UNNAMED = 0.08
"""What is added to it where several machines may be meant: chance has more wordings to hit."""
MOST = 5
"""Symptoms named for one complaint."""
SAID = 0.65
"""Share of the message's weight in the score; the rest is the wording's."""
LETTERS = 0.25
"""Share of the n-grams in the score."""
LIKENESS, TOPIC, NEITHER, BESIDE = 0.8, 1.0, -0.2, 0.3
"""What a sentence model adds to the score: so much of the likeness, so much of the topic, less NEITHER, and less BESIDE
for a complaint that words tell nothing of beside one that they do."""
UNLIKE = 0.1
"""Likeness below which a sentence model adds nothing, whatever the topic."""
SAID_DENYING = 0.4
"""The share of a message's weight where it denies something: the wording must be said in full."""
EVERYDAY, RARE, ELSEWHERE = 0.5, 1.2, 3.0
"""What words weigh that no wording has, beside one of middling weight: of everyday talk, rare, of other things."""
DENYING, ASSERTING = 0.8, 0.5
"""The score that a symptom must reach beside the best that is denied, in a complaint that denies something or not."""
ASKED = 0.5
"""What is left of the score of a question or a wish: could you tell me when you close."""
SUBJECT = 0.7
"""What is left of the score where a complaint begins with something that no wording knows: the bottle bank is full."""
JOINED = 3
"""Clauses that may make one complaint together."""

_WORKS = ("work", "function", "come on", "comes on", "coming on")

@dataclass(frozen=True, slots=True)
class Likely:
    """A symptom that a complaint may speak of; `present` is False where the complaint denies it."""

    equipment: str
    symptom: str
    present: bool
    score: float
    wording: str
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Complaint:
    """One of the things a message says, where it stands, and what it may mean, likeliest first."""

    text: str
    start: int
    end: int
    matches: tuple[Likely, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Scored:
    """A complaint against all wordings (W): how well each is said, which may be meant at all, how far it is denied."""

    clauses: tuple[Clause, ...]
    scores: Floats
    open: Bools
    denied: Floats
    weight: float

    @property
    def negated(self) -> bool:
        return any(c.negated for c in self.clauses)

    @property
    def best(self) -> float:
        return float(self.scores.max(initial=0.0))

    @property
    def span(self) -> slice:
        return slice(self.clauses[0].start, self.clauses[-1].end)


def complaints_of(index: Index, text: str, meaning: Meaning | None = None) -> list[Complaint]:
    """The complaints of a message in its order; those that match nothing have no matches.

    Parameters
    ----------
    index
        The wordings of one or several machines.
    text
        What was said, of any length.
    meaning
        What a sentence model makes of a text; None goes by words and letters alone.
    """
    words = index.spelling.respelt(text)
    parts = _parted(index, text, clauses_of(text, words))
    if meaning is not None:
        parts = _understood(index, text, parts, meaning)
    return [_complaint(index, text, part) for part in parts]


def _least(index: Index) -> float:
    return LEAST + UNNAMED * (index.machines > 1)


def _parted(index: Index, text: str, clauses: Sequence[Clause]) -> list[_Scored]:
    """The best way to cut clauses into complaints: the most weight that is accounted for."""
    best: list[tuple[float, list[_Scored]]] = [(0.0, [])]
    for end in range(1, len(clauses) + 1):
        ways = []
        for start in range(max(0, end - JOINED), end):
            if start < end - 1 and any(c.negated or c.fine for c in clauses[start:end]):
                continue
            scored = _scored(index, text, clauses[start:end])
            worth = scored.best if scored.best >= _least(index) else 0.0
            value, before = best[start]
            ways.append((value + worth * scored.weight - 0.01, -start, [*before, scored]))
        value, _, parts = max(ways, key=lambda way: way[:2])
        best.append((value, parts))
    return best[-1][1]


def _scored(index: Index, text: str, clauses: Sequence[Clause]) -> _Scored:
    said: dict[str, Feature] = {}
    for clause in clauses:
        for feature in clause.features:
            if feature.concept not in said or feature.sign < 0:
                said[feature.concept] = feature
    agreed, clashing = np.zeros(len(index.wordings)), np.zeros(len(index.wordings))
    stated, unclear = ~index.has_state & (not _works(text, said)), np.zeros(len(index.wordings), dtype=bool)
    weight = 1e-9
    for concept, feature in said.items():
        column = index.concepts.get(concept)
        if column is None:
            weight += index.unseen * _foreign(concept)
            continue
        weight += float(index.weights[column])
        first, last = index.signed.indptr[column: column + 2]
        rows = index.signed.indices[first:last]
        if not feature.sign:
            lacking = np.ones(len(index.wordings), dtype=bool)
            lacking[rows] = False
            unclear |= lacking
            continue
        values = index.signed.data[first:last] * feature.sign
        agreed[rows] += np.maximum(values, 0.0)
        clashing[rows] += np.maximum(-values, 0.0)
        if feature.state:
            stated[rows] |= values > 0
    share = SAID_DENYING if any(c.negated for c in clauses) else SAID
    shared = share * weight + (1 - share) * np.maximum(index.whole, 1e-9)
    clash = clashing > 0.5 * agreed
    like = (agreed > 0) & stated
    scores = (1 - LETTERS) * agreed / shared
    if like.any():
        scores += LETTERS * _letters(index, text[clauses[0].start: clauses[-1].end])
    about = _on_subject(index, list(said.values())) * (ASKED if clauses[0].asks else 1.0)
    scores = np.where(like, scores * about, 0.0)
    denied = np.where(clash, (1 - LETTERS) * (agreed + clashing) / shared, 0.0)
    closed = clash | any(c.fine for c in clauses)
    if clash.any():
        closed |= _of_symptoms(index, denied) > scores
    return _Scored(tuple(clauses), np.where(closed | unclear, 0.0, scores), ~closed, denied, weight)


def _works(text: str, said: Mapping[str, Feature]) -> bool:
    """Whether something is said to work: then a wording that only names it (no light inside) isn't meant."""
    runs = said.get("run")
    return runs is not None and runs.sign > 0 and text[runs.start:runs.end].lower().startswith(_WORKS)


def _of_symptoms(index: Index, values: Floats) -> Floats:
    """For each wording (W) the largest value that any wording of its symptom has."""
    return np.repeat(np.maximum.reduceat(values, index.starts), index.counts) if len(values) else values


def _on_subject(index: Index, said: Sequence[Feature]) -> float:
    """What is left of a score for what a complaint begins with: things elsewhere, things that no wording knows."""
    subject = next((f for f in said if not f.state or not f.known), None)
    if subject is None:
        return 1.0
    told = next((i for i, f in enumerate(said) if f.state and f.known), 0)
    if any(f.concept in elsewhere() for f in (subject, *said[:told])):
        return 0.0
    return SUBJECT if subject.state and subject is said[0] and subject.concept not in index.concepts else 1.0


def _foreign(stem: str) -> float:
    """What a word that no wording has weighs beside one of middling weight."""
    if stem in elsewhere():
        return ELSEWHERE
    return EVERYDAY if stem in everyday() else RARE


def _understood(index: Index, text: str, parts: Sequence[_Scored], meaning: Meaning) -> list[_Scored]:
    """Complaints with what a sentence model makes of them; as one, where apart they tell nothing."""
    by_words = any(part.best >= _least(index) for part in parts)
    read = [_meant(index, text, part, meaning, by_words and part.best < _least(index)) for part in parts]
    telling = max((max(r.best, float(r.denied.max(initial=0.0))) for r in read), default=0.0)
    clauses = [c for part in parts for c in part.clauses]
    if len(read) > 1 and telling < _least(index) and not any(c.fine for c in clauses):
        whole = _meant(index, text, _scored(index, text, clauses), meaning, False)
        if whole.best >= _least(index):
            return [whole]
    return read


def _meant(index: Index, text: str, scored: _Scored, meaning: Meaning, beside: bool) -> _Scored:
    """The same with what a sentence model says; `beside` what words tell already it must be surer.

    It hardly knows of `not`: what denies something is only like wordings that deny something, and nothing is added
    where words tell that it is a denial.
    """
    said = {f.concept: f for c in scored.clauses for f in c.features}
    denies = any(c.denies for c in scored.clauses)
    denied = float(scored.denied.max(initial=0.0))
    told = denies and denied >= _least(index) and scored.best < max(_least(index), DENYING * denied)
    if told or not scored.open.any() or _works(text, said):
        return scored
    meant = meaning(index.spelling.mended(text[scored.span]))
    likeness = np.where(index.denying | (not denies), np.maximum(meant.likeness, 0.0), 0.0)
    likeness = _of_symptoms(index, likeness) * _on_subject(index, list(said.values()))
    more = LIKENESS * likeness + TOPIC * meant.topic - NEITHER - BESIDE * beside
    more = np.where(likeness < UNLIKE, np.minimum(more, 0.0), more)
    return replace(scored, scores=np.where(scored.open, np.maximum(scored.scores + more, 0.0), 0.0))


def _letters(index: Index, text: str) -> Floats:
    """The cosine (W) of a text with every wording by n-grams of letters."""
    norm = 0.0
    rows, values = [], []
    for gram, n in letters_of(text).items():
        rare = index.gram_weights.get(gram)
        if rare is None:
            norm += n * n
            continue
        norm += (n * rare) ** 2
        places, weights = index.grams[gram]
        rows.append(places)
        values.append(weights * (n * rare))
    if not rows:
        return np.zeros(len(index.wordings))
    cosine = np.bincount(np.concatenate(rows), np.concatenate(values), len(index.wordings))
    return np.asarray(cosine / np.sqrt(norm), dtype=np.float64)


def _complaint(index: Index, text: str, scored: _Scored) -> Complaint:
    start, end = scored.clauses[0].start, scored.clauses[-1].end
    found: list[Likely] = []
    least = DENYING if any(c.negated for c in scored.clauses) else ASSERTING
    said = scored.best >= max(_least(index), least * float(scored.denied.max(initial=0.0)))
    for present, scores in ((True, scored.scores), (False, scored.denied)):
        best: dict[int, int] = {}
        if present is not said:
            continue
        likely = np.flatnonzero(scores >= _least(index))
        for row in likely[np.argsort(-scores[likely], kind="stable")].tolist():
            if len(best) == MOST:
                break
            best.setdefault(int(index.of[row]), row)
        for place, row in best.items():
            equipment, symptom = index.symptoms[place]
            found.append(Likely(
                equipment, symptom, present, min(1.0, float(scores[row])), index.wordings[row].text,
                _shared(index, text, scored, row),
            ))
    return Complaint(text[start:end], start, end, tuple(found))


def _shared(index: Index, text: str, scored: _Scored, row: int) -> tuple[str, ...]:
    """The words of a complaint that a wording shares, as they were said."""
    said = index.said[row]
    return tuple(dict.fromkeys(
        text[f.start:f.end] for c in scored.clauses for f in c.features if f.concept in said
    ))
