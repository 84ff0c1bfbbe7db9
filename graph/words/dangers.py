"""What a caller says that comes before every question: fire, gas, electricity, chemicals, someone hurt.

A *cue* is one word, or words of several groups, in one sentence. Words that are denied don't count; doubt does:
what was so and no longer is, or is asked, is taken as said. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from graph.words.common import COMMON
from graph.words.cues import BURN, CUES, FOOD, HARMLESS, HARMLESS_PHRASES
from graph.words.instructions import KINDS, Kind
from graph.words.spelling import Spelling
from graph.words.stems import Word, stem, words_of
from graph.words.thesaurus import vocabulary

Groups = tuple[frozenset[str], ...]

_NEAR = 4
"""Words between two that belong together."""
_DENYING = frozenset(("not", "no", "never", "nobody", "without", "none", "nor", "neither", "nothing", "nowhere"))
_STILL = frozenset((
    "longer", "more", "anymore", "sure", "know", "certain", "only", "just", "if", "whether", "think", "stop", "help",
    "believe",
))
"""Words that make a denial doubtful: no longer, not sure, not only."""
_ENDS = frozenset((
    ".", ";", ":", "!", "?", "\n", "but", "because", "except", "apart", "although", "though", "however", "yet", "so",
    "then", "until", "unless",
))
_ALWAYS = (
    "not breathe", "not get up", "not stop the bleeding", "not breathing", "not conscious", "not responding", "he "
    "not moving",
    "he is not moving", "not waking", "not wake up", "not move his", "not move her", "not feel his", "not feel her",
    "not feel my", "having a fit", "had a fit",
)
"""Said in these very words, with a denial and all the worse."""
SHORTEST = 4
"""Letters from which a word may be what a misspelt one was meant to be: in shorter ones a slip makes another word."""


@dataclass(frozen=True, slots=True)
class Danger:
    """One danger that was heard: its kind, the words that tell of it, and what to do now."""

    kind: Kind
    title: str
    words: tuple[str, ...]
    instructions: tuple[str, ...]


Ear = Callable[[str], Kind | None]
"""The kind of danger that a sentence model hears in a sentence, if any."""


def dangers_of(text: str, ear: Ear | None = None) -> tuple[Danger, ...]:
    """The dangers that a message speaks of, in the order of the table: the most urgent kinds first.

    A sentence in which no cue is heard is given to the `ear`, unless something in it is denied or known to be harmless.
    """
    found: dict[Kind, tuple[str, ...]] = {}
    words = _spelling().respelt(text)
    for sentence in _sentences(words):
        heard = list(_heard(text, sentence))
        if not heard and ear is not None and sentence and _doubtful(sentence):
            said = text[sentence[0].start: sentence[-1].end]
            kind = ear(said)
            heard = [(kind, (said,))] if kind else []
        for kind, told in heard:
            found.setdefault(kind, told)
    return tuple(
        Danger(kind, title, found[kind], instructions) for kind, (title, instructions) in KINDS.items() if kind
         in found
    )


def dangers_of_titles(titles: Iterable[str]) -> tuple[Danger, ...]:
    """The dangers in what was found, by the titles of what people on site reported."""
    found = {d.kind: d for title in titles for d in _dangers_of_title(title)}
    return tuple(found[kind] for kind in KINDS if kind in found)


@lru_cache(maxsize=4096)
def _dangers_of_title(title: str) -> tuple[Danger, ...]:
    return dangers_of(title)


def _sentences(words: Sequence[Word]) -> Iterator[list[Word]]:
    part: list[Word] = []
    for word in words:
        if word.text in _ENDS:
            yield part
            part = []
        else:
            part.append(word)
    yield part


def _heard(text: str, sentence: Sequence[Word]) -> Iterator[tuple[Kind, tuple[str, ...]]]:
    phrased = _harmless_phrases(sentence)
    joined = " ".join(w.text for w, silent in zip(sentence, phrased, strict=True) if not silent)
    if any(said in joined for said in _ALWAYS):
        yield "injury", (joined,)
    said = [w for w, *silent in zip(sentence, _denied(sentence), phrased, strict=True) if not any(silent)]
    said = [w for i, w in enumerate(said) if not _harmless(said, i)]
    stems = [w.stem for w in said]
    among = frozenset(stems)
    for kind, cues in _table().items():
        for cue in cues:
            places = None if any(among.isdisjoint(group) for group in cue) else _placed(stems, cue)
            if places is not None:
                yield kind, tuple(text[said[i].start:said[i].end] for i in sorted(places))
                break


def _doubtful(sentence: Sequence[Word]) -> bool:
    """Whether nothing in a sentence is denied or harmless."""
    silent = any(_denied(sentence)) or any(_harmless_phrases(sentence))
    return not silent and not any(_harmless(sentence, i) for i in range(len(sentence)))


def _placed(stems: Sequence[str], cue: Groups) -> set[int] | None:
    """A word of its own for each group of a cue; None where one has none."""
    places: set[int] = set()
    for group in cue:
        place = next((i for i, s in enumerate(stems) if s in group and i not in places), None)
        if place is None:
            return None
        places.add(place)
    return places


def _denied(sentence: Sequence[Word]) -> list[bool]:
    """Which words are denied: those behind a denial, up to a comma that no other denial or list follows."""
    denied, reach = [], False
    for i, word in enumerate(sentence):
        after = [w.text for w in sentence[i + 1: i + 4]]
        if word.text in _DENYING:
            first = i == 0 or sentence[i - 1].text in (",", "and")
            asked = first and word.text == "not" and bool(after) and after[0] in ("there", "that", "it")
            answer = word.text == "no" and bool(after) and after[0] in (",", "it", "there", "i", "we", "the")
            trailing = word.text in ("no", "nothing") and not after
            reach = not (_STILL.intersection(after[:2]) or asked or answer or trailing)
        elif reach and word.text in (",", "and") and not _list_ends(sentence, i):
            reach = False
        denied.append(reach and word.stem not in _held())
    return denied


@lru_cache(maxsize=1)
def _held() -> frozenset[str]:
    """What a breaker won't do when it trips, and a tap that leaks."""
    return _stems("stay hold reset turn close shut")


def _list_ends(sentence: Sequence[Word], i: int) -> bool:
    """Whether what follows a comma or an `and` is one more item of a denied list: no smoke, sparks or flames."""
    rest = [w.text for w in sentence[i + 1: i + 5]]
    if sentence[i].text == "and":
        return len(rest) <= 2 and not any(w in ("it", "is", "i", "there", "he", "she", "we", "they") for w in rest)
    return "or" in rest or "nor" in rest


def _harmless_phrases(sentence: Sequence[Word]) -> list[bool]:
    """Which words stand in a phrase that is harmless as it stands."""
    stems = tuple(w.stem for w in sentence)
    inside = [False] * len(stems)
    for i, first in enumerate(stems):
        for phrase in _phrases().get(first, ()):
            if stems[i: i + len(phrase)] == phrase:
                inside[i: i + len(phrase)] = [True] * len(phrase)
    return inside


@lru_cache(maxsize=1)
def _phrases() -> dict[str, list[tuple[str, ...]]]:
    """The harmless phrases by their first word."""
    table: dict[str, list[tuple[str, ...]]] = {}
    for phrase in HARMLESS_PHRASES:
        stems = tuple(w.stem for w in words_of(phrase))
        table.setdefault(stems[0], []).append(stems)
    return table


def _harmless(said: Sequence[Word], i: int) -> bool:
    """Whether a word stands beside one that makes it harmless."""
    near = {w.stem for w in said[max(0, i - _NEAR): i + _NEAR + 1] if w is not said[i]}
    if said[i].stem in _scorching() and near & _food():
        return True
    if said[i].text in ("fired", "sparkling"):
        return True
    return any(said[i].stem in first and near & second for first, second in _looks_alike())


@lru_cache(maxsize=1)
def _table() -> dict[Kind, tuple[Groups, ...]]:
    return {kind: tuple(tuple(_stems(group) for group in cue) for cue in cues) for kind, cues in CUES.items()}


@lru_cache(maxsize=1)
def _scorching() -> frozenset[str]:
    return _stems(BURN)


@lru_cache(maxsize=1)
def _food() -> frozenset[str]:
    return _stems(FOOD)


@lru_cache(maxsize=1)
def _looks_alike() -> tuple[tuple[frozenset[str], frozenset[str]], ...]:
    return tuple((_stems(first), _stems(second)) for first, second in HARMLESS)


@lru_cache(maxsize=1)
def _spelling() -> Spelling:
    groups = [group for cues in CUES.values() for cue in cues for group in cue]
    harmless = [group for pair in HARMLESS for group in pair]
    told = {w.text for group in [*groups, *harmless, FOOD, *_ALWAYS] for w in words_of(group)}
    known = told | vocabulary()
    return Spelling((w for w in known if len(w) >= SHORTEST and w not in COMMON), known)


def _stems(text: str) -> frozenset[str]:
    return frozenset(stem(w) for w in text.split())
