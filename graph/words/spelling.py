"""Misspelt words put right against the words that the graphs and the trade use."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from functools import lru_cache

from graph.words.common import ORDINARY
from graph.words.stems import Word, stem, words_of
from graph.words.thesaurus import empty, everyday

SHORTEST = 3
"""Words shorter than this are left as they are."""
FAR = 7
"""Letters from which a word may have two slips."""


_GROWN = frozenset(["isnt", "arent", "wasnt", "dont", "doesnt", "didnt", "cant", "couldnt", "wont", "wouldnt",
"hasnt", "havent", "shouldnt", "nothing", "never"])
"""Negations without their apostrophe, so that a slip in one is no loss of what it denies."""


class Spelling:
    """Known words, ready to be looked up by what is left of them with letters taken out.

    The symmetric-delete method: two words within so many slips share a word with so many letters taken out of both.
    """

    def __init__(self, words: Iterable[str], right: Iterable[str] = ()) -> None:
        """`words` are put in the place of misspelt ones; those and `right` are left as they are."""
        self.words = frozenset(words) | _GROWN
        self.stems = frozenset(stem(w) for w in (*self.words, *right, *ORDINARY)) | everyday() | empty()
        self.near: dict[str, set[str]] = defaultdict(set)
        for word in self.words:
            for cut in _cuts(word, 2 if len(word) >= FAR else 1):
                self.near[cut].add(word)
        self.right = lru_cache(maxsize=20_000)(self._right)

    def _right(self, word: str) -> str:
        """The known word that is meant, or the word itself."""
        if len(word) < SHORTEST or stem(word) in self.stems or word in self.words:
            return word
        slips = 2 if len(word) >= FAR else 1
        found = {w for cut in _cuts(word, slips) for w in self.near.get(cut, ())}
        weighed = sorted(
            (distance(word, w), not _swapped(word, w), w in empty(), w[0] != word[0], -len(w), w) for w in found
        )
        return next((
            w for far, unlike, _, other, _, w in weighed
            if far <= slips and not (other and unlike) and abs(len(w) - len(word)) <= slips and len(w) >= SHORTEST
        ), word)

    def respelt(self, text: str) -> list[Word]:
        """The words of a text, put right, where they stand in it."""
        words = []
        for word in words_of(text):
            right = self.right(word.text) if word.text.isalpha() else word.text
            ones = words_of(right) if right != word.text else [word]
            words += [Word(one.text, one.stem, word.start, word.end) for one in ones]
        return words


def _swapped(a: str, b: str) -> bool:
    """Whether two words have the same letters."""
    return sorted(a) == sorted(b)


def _cuts(word: str, most: int) -> set[str]:
    cuts = {word}
    for _ in range(most):
        cuts |= {w[:i] + w[i + 1:] for w in cuts for i in range(len(w))}
    return cuts


def distance(a: str, b: str) -> int:
    """Slips between two words: a letter too many, too few, another one, or two swapped (optimal string alignment)."""
    rows = [list(range(len(b) + 1))]
    for i, x in enumerate(a, 1):
        row = [i]
        for j, y in enumerate(b, 1):
            best = min(rows[-1][j] + 1, row[-1] + 1, rows[-1][j - 1] + (x != y))
            if i > 1 and j > 1 and x == b[j - 2] and a[i - 2] == y:
                best = min(best, rows[-2][j - 2] + 1)
            row.append(best)
        rows.append(row)
    return rows[-1][-1]
