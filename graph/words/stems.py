"""Words out of a message: where they stand, what is left of them without their endings."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

_WORD = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)*|\d+(?:[.,]\d+)?|[.;:!?\n,()-]")
_NOT = re.compile(
    r"^(is|are|was|were|do|does|dos|did|have|has|had|wo|would|wou|ca|can|could|should|ai|must|need|ha)n?'?n?'?t$"
)
"""Verbs with `not` grown on, with the apostrophe or without: isn't, dont, cant, wont, dosnt."""
_GROWN = re.compile(r"^[a-z]{1,6}n't$")
_PLAIN = {"cannot": "not", "wasnt": "not", "want": "want", "hat": "hat", "cat": "cat", "hast": "hast"}
_TAIL = re.compile(r"'(s|m|re|ve|ll|d)$")
_IRREGULAR = {
    "froze": "freeze", "frozen": "freeze", "fell": "fall", "fallen": "fall", "ran": "run", "stuck": "stick",
    "blown": "blow", "blew": "blow", "burnt": "burn", "went": "go", "gone": "go", "goes": "go", "heard": "hear",
    "stood": "stand", "came": "come", "gave": "give", "given": "give", "kept": "keep", "made": "make", "broke": "break",
    "broken": "break", "died": "die", "dying": "die", "smelt": "smell", "left": "left", "lit": "light", "less": "less",
    "glasses": "glass", "always": "always", "does": "do", "dropt": "drop", "shut": "shut", "spilt": "spill",
    "leaves": "leave", "has": "have", "was": "be", "is": "be", "are": "be", "stops": "stop", "stopped": "stop",
    "bled": "bleed", "cubes": "cube", "this": "this", "its": "its", "us": "us", "gas": "gas", "bus": "bus",
    "during": "during", "thing": "thing", "nothing": "nothing", "anything": "anything", "something": "something",
    "morning": "morning", "evening": "evening", "ceiling": "ceiling", "need": "need", "speed": "speed",
    "bleed": "bleed", "goods": "goods",
    "feed": "feed", "red": "red", "bed": "bed", "led": "led", "shed": "shed", "only": "only", "family": "family",
}
_BARE = re.compile(r"[bdgmnprt]{2}$")


@dataclass(frozen=True, slots=True)
class Word:
    """A word or a mark of a message: as written in lower case, its stem, and where it stands."""

    text: str
    stem: str
    start: int
    end: int


@lru_cache(maxsize=50_000)
def stem(word: str) -> str:
    """A word without the endings of English that change little: leaking, leaks, leaked → leak."""
    if word in _IRREGULAR:
        return _IRREGULAR[word]
    for ending, least in (("ing", 3), ("ed", 3), ("ies", 2), ("es", 3), ("s", 3), ("ly", 3), ("y", 4)):
        if not word.endswith(ending) or len(word) - len(ending) < least or word.endswith(("ss", "us", "is")):
            continue
        rest = word[: -len(ending)]
        if ending in ("ing", "ed") and _BARE.search(rest) and rest[-1] == rest[-2]:
            return rest[:-1]
        return _without_e(rest)
    return _without_e(word)


def _without_e(word: str) -> str:
    return word[:-1] if word.endswith("e") and len(word) > 3 else word


def words_of(text: str) -> list[Word]:
    """The words and marks of a text. A grown-on `not` becomes a word of its own, other tails are cut."""
    words = []
    for found in _WORD.finditer(text.lower().replace("\u2019", "'")):
        word = found[0]
        if word in _PLAIN or _NOT.match(word) or _GROWN.match(word):
            word = _PLAIN.get(word, "not")
        else:
            word = _TAIL.sub("", word).replace("'", "")
        words.append(Word(word, stem(word), found.start(), found.end()))
    return words
