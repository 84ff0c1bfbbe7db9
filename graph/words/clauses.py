"""What a message says, clause by clause: concepts with their signs, so that what is denied is never taken as said.

A negation reaches to the end of its clause or to a word that begins another thought. It turns what is said of a thing
(`not leaking`: leaking, no); `no` before a thing turns the thing as well (`no water going in`). `Used to` and
`stopped leaking` are negations too; two of them cancel out. What follows `apart from` is said after all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from graph.words.stems import Word, words_of
from graph.words.thesaurus import empty, longest, phrases

_MARKS = frozenset(".;:!?\n()-")
_BREAKS = frozenset(("but", "and", "also", "plus", "however", "though", "although", "besides", "then", "yet", "except"))
"""Words that begin another clause."""
_LINKS = frozenset((
    "when", "while", "if", "because", "before", "after", "until", "unless", "that", "which", "so", "even", "where",
    "just", "anymore",
))
"""Words past which a negation does not reach."""
_NOT = frozenset(("not", "never", "neither", "nor", "without", "no", "none", "nobody", "nothing", "nowhere"))
_DETERMINES = frozenset(("no", "any", "without", "single", "enough"))
"""Words that a negation goes through to the thing behind them."""
_PLACES = frozenset(("on", "in", "at", "from", "over", "inside", "behind", "under"))
"""Words behind which a place stands: no head on the beer denies the head, not the beer."""
_PAIRS = frozenset((("used", "to"), ("instead", "of"), ("rather", "than"), ("no", "longer")))
"""Negations of two words."""
_EARLY = frozenset(("early", "soon", "before", "after", "when", "halfway"))
"""Words that say when it stops: then it did begin."""
_ASKS = (
    "could you", "can you tell", "can you give", "do you", "are you", "can i", "could i", "may i", "shall i",
    "how much", "how many", "what time", "when do you", "when will", "when can", "who do", "i like to", "i want to",
    "we want to", "we like to", "i need a",
)
"""How a question to the desk begins, or a wish."""
_QUESTIONS = frozenset((",", "what", "why", "how", "when", "where", "which", "whatever", "to", "we", "i", "you"))
"""Words behind which `do` insists on nothing."""
_ANSWERS = frozenset(("no", "nope", "nah", "yes", "yeah", "yep", "ok", "okay", "well"))


@dataclass(frozen=True, slots=True)
class Feature:
    """A concept in a message: its sign, whether it is a state, whether the trade has a word for it, where it stands."""

    concept: str
    sign: int
    state: bool
    known: bool
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Clause:
    """One thought of a message.

    `denies` says that it has a word that denies, `negated` that something in it is denied, be it by its opposite (dry),
    `fine` that it is called right, `asks` that it begins as a question to the desk or as a wish.
    """

    text: str
    start: int
    end: int
    features: tuple[Feature, ...]
    denies: bool
    negated: bool
    fine: bool
    asks: bool


@dataclass(slots=True)
class _Reach:
    """What negations that are open in a clause do to the words behind them.

    `met` says that a state was turned, `placed` that what follows is a place.
    """

    sign: int = 1
    thing: bool = False
    met: bool = False
    placed: bool = False
    turned: list[int] = field(default_factory=list)

    def of_state(self) -> int:
        """The sign of the next state: the first is turned, of those behind it nothing is known."""
        if self.sign > 0:
            return 1
        met, self.met = self.met, True
        self.turned.clear()
        return 0 if met else -1


def clauses_of(text: str, respelt: Sequence[Word] | None = None) -> list[Clause]:
    """The clauses of a text; `respelt` are its words, where their spelling has been put right."""
    words = list(words_of(text) if respelt is None else respelt)
    return [c for part in _parts(words) if (c := _clause(text, part)) is not None]


def _parts(words: Sequence[Word]) -> Iterator[list[Word]]:
    part: list[Word] = []
    after_apart = False
    for i, word in enumerate(words):
        following = words[i + 1].text if i + 1 < len(words) else ""
        ends = word.text in _MARKS or (word.text in _BREAKS and not (part and part[-1].text in ("nice", "good")))
        if word.text == "," and not _list_goes_on(words, i):
            ends = True
        if word.text == "apart" and following == "from":
            ends = after_apart = True
        elif after_apart and part and word.text in ("it", "everything", "all", "the rest", "we"):
            after_apart = False
            yield part
            part = []
        if ends:
            if part:
                yield part
            part = []
        else:
            part.append(word)
    if part:
        yield part


def _list_goes_on(words: Sequence[Word], i: int) -> bool:
    """Whether a comma stands in a list that ends with `or`: no smoke, sparks or flames."""
    for word in words[i + 1: i + 8]:
        if word.text in ("or", "nor"):
            return True
        if word.text in _MARKS or word.text in _BREAKS or word.text in _NOT:
            return False
    return False


def _clause(text: str, words: list[Word]) -> Clause | None:
    while words and words[0].text in _ANSWERS and len(words) > 1 and (
        words[1].text in ("it", "we", "i", "they", "the", "there", "that") or words[1].text in _NOT
    ):
        words = words[1:]
    features = list(_features(words))
    if not features:
        return None
    fine = any(f.concept == "fine" and f.sign > 0 for f in features)
    broken = any(f.concept == "intermittent" and f.sign > 0 for f in features)
    said = tuple(f for f in features if f.concept != "fine")
    denies = any(w.text in _NOT or _turns(words, i) for i, w in enumerate(words))
    insists = _insists(words)
    negated = any(w.text in _NOT for w in words) or any(f.sign < 0 for f in said) or insists
    asks = " ".join(w.text for w in words[:3]).startswith(_ASKS)
    start, end = words[0].start, words[-1].end
    return Clause(text[start:end], start, end, said, denies or insists, negated, fine and not broken, asks)


def _insists(words: Sequence[Word]) -> bool:
    """Whether it is said that something does what was asked about: it does stop."""
    return any(
        before.text not in _QUESTIONS and word.text in ("does", "do", "did")
        and after.text not in (*_NOT, "this", "that", "it")
        for before, word, after in zip(words, words[1:], words[2:], strict=False)
    )


def _features(words: Sequence[Word]) -> Iterator[Feature]:
    """The concepts of a clause with their signs."""
    reach = _Reach()
    table, found, i, negation = phrases(), list[Feature](), 0, 0
    while i < len(words):
        word = words[i]
        length = next((
            n for n in range(min(longest(), len(words) - i), 0, -1)
            if tuple(w.stem for w in words[i: i + n]) in table
        ), 0)
        own = length > 1 and any(w.text in _NOT for w in words[i: i + length])
        turning = "" if own else _turns(words, i)
        if turning:
            if word.stem == "stop" and reach.sign < 0:
                found.append(Feature("stop", -1, True, True, word.start, word.end))
            reach = _Reach(-reach.sign, turning == "thing")
            if reach.sign < 0 and reach.thing and found and found[-1].state and found[-1].end == word.start - 1:
                found[-1] = _opposite(found[-1])
            negation = len(found)
            i += 2 if (word.text, words[min(i + 1, len(words) - 1)].text) in _PAIRS else 1
            continue
        if word.text in _PLACES and len(found) > negation:
            reach.thing, reach.placed = False, True
        if word.text == "enough" and found and found[-1].state and found[-1].end == word.start - 1:
            i += 1
            continue
        if length:
            concept, sign, state = table[tuple(w.stem for w in words[i: i + length])]
            if not concept:
                i += length
                continue
            if own:
                turned = 1
            elif concept == "hear":
                turned = reach.sign
            elif state:
                turned = reach.of_state()
            else:
                turned = -1 if reach.thing and reach.sign < 0 else 1
                if reach.sign < 0 and turned > 0 and not reach.placed:
                    reach.turned.append(len(found))
            found.append(Feature(concept, sign * turned, state, True, word.start, words[i + length - 1].end))
            i += length
            reach.thing = reach.thing and (state or _goes_on(words, i))
            continue
        if word.text in _LINKS:
            found = _turned_things(found, reach, negation)
            reach = _Reach()
        elif word.text in ("or", "nor", ","):
            reach.met = False
        elif word.text in _DETERMINES and reach.sign < 0:
            reach.thing = True
        elif word.stem not in empty() and len(word.text) > 2 and word.text.isalpha():
            found.append(Feature(word.stem, reach.of_state(), True, False, word.start, word.end))
        i += 1
    yield from _turned_things(found, reach, negation)


def _goes_on(words: Sequence[Word], i: int) -> bool:
    """Whether `no` goes on to another thing: no lights or noise."""
    return i < len(words) and words[i].text in ("or", "nor")


def _turned_things(found: list[Feature], reach: _Reach, negation: int) -> list[Feature]:
    """A negation that met no state turns the things it met (it isn't making ice), or else what was before it."""
    if reach.sign > 0 or reach.met:
        return found
    turned = reach.turned or (range(len(found)) if negation == len(found) else ())
    return [_opposite(f) if i in turned else f for i, f in enumerate(found)]


def _opposite(feature: Feature) -> Feature:
    return replace(feature, sign=-feature.sign)


def _turns(words: Sequence[Word], i: int) -> str:
    """Whether a word negates what follows: the state, or the thing right behind it too; empty where it doesn't."""
    text = words[i].text
    following = words[i + 1].text if i + 1 < len(words) else ""
    before = words[i - 1].text if i else ""
    if text in ("no", "without", "none"):
        return "thing"
    if text in ("nothing", "nobody"):
        return "state" if i + 1 < len(words) and following not in _LINKS else ""
    if text in _NOT:
        return "" if following in ("only", "just", "sure") else "state"
    if (text, following) in (("instead", "of"), ("rather", "than"), ("no", "longer")):
        return "state"
    if text == "used" and following == "to":
        return "" if before in ("it", "we", "they", "he", "she") and i > 1 and words[i - 2].text in (
            "than", "as", "like", "what", "how") else "state"
    if text in ("stopped", "stops", "stop", "quit") and following.endswith("ing"):
        return "" if any(w.text in _EARLY for w in words[i + 2:]) else "state"
    return ""
