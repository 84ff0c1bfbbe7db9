"""Misspelt words put right against the words that the graphs and the trade use."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from functools import lru_cache

from graph.words.common import COMMON, ORDINARY
from graph.words.english import english
from graph.words.sounds import sound
from graph.words.stems import Word, stem, words_of
from graph.words.thesaurus import EMPTY, empty, everyday

SHORTEST = 3
"""Words shorter than this are left as they are."""
FAR = 6
"""Letters from which a word may have two slips."""
MOST, MOST_LONG = 1.25, 2.1
"""What the slips in a word may weigh, in a short one and in a long one."""
SWAPPED, DOUBLED, GONE, BESIDE, ANOTHER, FIRST = 0.6, 0.5, 0.9, 0.8, 1.1, 0.4
"""What slips weigh, as in `slips`."""
SOUNDS = 0.6
"""What it weighs at most to be spelt by ear."""
UNUSUAL = 0.3
"""What is added for a word of everyday talk, that no graph and no trade has."""
_USUAL = COMMON | {w for w in EMPTY.split() if w.isalpha()}
_ENDINGS = ("s", "ed", "ing", "ly")
_KEYBOARD = ("qwertyuiop", "asdfghjkl", "zxcvbnm")
_VOWELS = frozenset("aeiouy")
_SHORT = frozenset(("it", "is", "in", "on", "to", "of", "up", "my", "no", "at"))
"""Short words that are run together with others."""


_GROWN = frozenset(["isnt", "arent", "wasnt", "dont", "doesnt", "didnt", "cant", "couldnt", "wont", "wouldnt",
"hasnt", "havent", "shouldnt", "nothing", "never"])
"""Negations without their apostrophe, so that a slip in one is no loss of what it denies."""


class Spelling:
    """Known words, ready to be looked up by what is left of them with letters taken out, and by their sound.

    The symmetric-delete method: two words within so many slips share a word with so many letters taken out of both.
    """

    def __init__(self, words: Iterable[str], right: Iterable[str] = ()) -> None:
        """`words` are put in the place of misspelt ones; those and `right` are left as they are."""
        self.words = frozenset(words) | _GROWN
        self.rest = frozenset(right) | _USUAL | ORDINARY | english()
        self.stems = frozenset(stem(w) for w in (*self.words, *right)) | _right_stems()
        self.near: dict[str, set[str]] = defaultdict(set)
        self.sounding: dict[str, set[str]] = defaultdict(set)
        self.of_stem: dict[str, str] = {}
        for word in sorted(self.words | _USUAL):
            self.sounding[sound(word)].add(word)
            for cut in _cuts(word, 2 if len(word) >= FAR else 1):
                self.near[cut].add(word)
        for word in sorted(self.words):
            self.of_stem.setdefault(stem(word), word)
        for found in self.of_stem:
            for cut in _cuts(found, 1) if len(found) > SHORTEST else ():
                self.near[cut].add(found)
        self.right = lru_cache(maxsize=20_000)(self._right)

    def _right(self, word: str) -> str:
        """The known word that is meant, or two that were run together, or the word itself."""
        if len(word) < SHORTEST or self._known(word):
            return word
        best = self._likeliest(word)
        if best is None and stem(word) != word:
            best = self._likeliest(stem(word), self.of_stem)
        return best or self._parted(word) or word

    def _known(self, word: str) -> bool:
        """Whether a word is right as it is, or a right one with an ending; `wite` is no word of `wit`."""
        return word in self.words or word in self.rest or (stem(word) in self.stems and word.endswith(_ENDINGS))

    def _likeliest(self, word: str, stems: Mapping[str, str] | None = None) -> str | None:
        """The word that the likeliest slips turn into this one; by `stems`, the word of the likeliest stem."""
        spoken = sound(word)
        found = {w for cut in _cuts(word, 2 if len(word) >= FAR else 1) for w in self.near.get(cut, ())}
        found |= self.sounding.get(spoken, set())
        weighed = []
        for w in found:
            if len(w) < SHORTEST or (w not in stems if stems is not None else not (w in self.words or w in _USUAL)):
                continue
            far = slips(word, w)
            if sound(w) == spoken:
                far = min(far, SOUNDS)
            weighed.append((far + UNUSUAL * (stems is None and w not in self.words), abs(len(w) - len(word)), w))
        if not weighed:
            return None
        far, _, best = min(weighed)
        if far > (MOST_LONG if len(word) >= FAR else MOST):
            return None
        return best if stems is None else stems[best]

    def _parted(self, word: str) -> str | None:
        """Two words that were run together, the longest first part that is one."""
        for cut in range(len(word) - 2, 1, -1):
            first, second = word[:cut], word[cut:]
            if all((w in self.words or w in _USUAL) and (len(w) >= SHORTEST or w in _SHORT)
                   for w in (first, second)):
                return f"{first} {second}"
        return None

    def respelt(self, text: str) -> list[Word]:
        """The words of a text, put right, where they stand in it."""
        words = []
        for word in words_of(text):
            right = self.right(word.text) if word.text.isalpha() else word.text
            ones = words_of(right) if right != word.text else [word]
            words += [Word(one.text, one.stem, word.start, word.end) for one in ones]
        return words


    def mended(self, text: str) -> str:
        """A text with its misspelt words put right and the rest as it was."""
        parts, last = [], 0
        for word in words_of(text):
            right = self.right(word.text) if word.text.isalpha() else word.text
            if right != word.text:
                parts += [text[last: word.start], right]
                last = word.end
        return "".join([*parts, text[last:]])


@lru_cache(maxsize=1)
def _right_stems() -> frozenset[str]:
    """Stems of words that are right whatever the machine."""
    return frozenset(stem(w) for w in ORDINARY | english()) | everyday() | empty()


def _cuts(word: str, most: int) -> set[str]:
    cuts = {word}
    for _ in range(most):
        cuts |= {w[:i] + w[i + 1:] for w in cuts for i in range(len(w))}
    return cuts


@lru_cache(maxsize=50_000)
def slips(a: str, b: str) -> float:
    """What the slips between two words weigh (optimal string alignment, weighed).

    A whole slip is another letter; less are two letters swapped, a letter left out, too many or doubled, a vowel for a
    vowel, or a letter beside the right one on the keyboard. A word hardly ever begins with the wrong letter.
    """
    rows = [[float(i) * GONE for i in range(len(b) + 1)]]
    for i, x in enumerate(a, 1):
        row = [i * GONE]
        for j, y in enumerate(b, 1):
            best = min(
                rows[-1][j] + (DOUBLED if i > 1 and a[i - 2] == x else GONE),
                row[-1] + (DOUBLED if j > 1 and b[j - 2] == y else GONE),
                rows[-1][j - 1] + _another(x, y),
            )
            if i > 1 and j > 1 and x == b[j - 2] and a[i - 2] == y:
                best = min(best, rows[-2][j - 2] + (SWAPPED if x != y else 0.0))
            row.append(best)
        rows.append(row)
    return rows[-1][-1] + FIRST * (a[0] != b[0] and a[:2] != b[1::-1])


def _another(x: str, y: str) -> float:
    if x == y:
        return 0.0
    return BESIDE if y in _beside().get(x, "") or (x in _VOWELS and y in _VOWELS) else ANOTHER


@lru_cache(maxsize=1)
def _beside() -> dict[str, str]:
    """The letters beside each on the usual keyboard, in its row and the rows above and below."""
    at = {letter: (row, column + row / 3) for row, line in enumerate(_KEYBOARD) for column, letter in enumerate(line)}
    return {a: "".join(b for b in at if b != a and abs(at[a][0] - at[b][0]) <= 1 and abs(at[a][1] - at[b][1]) < 1)
            for a in at}
