"""Which machine a caller speaks of: model, maker or nickname, typed as people type."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from graph.equipment import Equipment
from graph.words.spelling import slips
from graph.words.stems import stem, words_of

LEAST = 0.35
"""Score below which no machine is named."""
_NICKNAMES: Mapping[str, tuple[str, ...]] = {
    "ice maker": ("ice maker", "ice machine", "icemaker", "ice cube machine", "cuber", "cube machine"),
    "glasswasher": ("glasswasher", "glass washer", "glass wash", "dishwasher", "pot washer", "dish washer", "bar "
        "washer"),
    "freezer": ("freezer", "deep freeze", "upright freezer", "freezer cabinet", "chest freezer", "cold cabinet"),
    "oven": ("oven", "combi", "combi oven", "combi steamer", "steamer", "convection oven", "baking oven"),
    "refrigerator": ("fridge", "refrigerator", "cooler", "chiller", "bottle cooler", "cold room"),
    "fryer": ("fryer", "deep fat fryer", "chip fryer"),
    "dishwasher": ("dishwasher", "dish washer", "pot washer", "washer"),
}
"""What callers call a machine of a category. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class MachineMatch:
    """A machine that may be meant: its score from 0 to 1 and the words that told."""

    equipment: str
    title: str
    category: str
    score: float
    words: tuple[str, ...]


def machines_of(equipment: Iterable[Equipment], text: str) -> tuple[MachineMatch, ...]:
    """The machines that a text may speak of, likeliest first; none where nothing is plausible."""
    said = [(w.text, text[w.start:w.end]) for w in words_of(_joined(text)) if w.text[0].isalnum()]
    plain = [(w.text, w.text) for w in words_of(text.replace("-", " ")) if w.text[0].isalnum()]
    found = []
    for machine in equipment:
        score, told = _score(machine, [w for w, _ in plain] or [w for w, _ in said], text)
        if score >= LEAST:
            found.append(MachineMatch(machine.id, machine.title, machine.category, round(score, 3), told))
    return tuple(sorted(found, key=lambda m: (-m.score, m.equipment)))


def _joined(text: str) -> str:
    return text.replace("-", "").replace("/", "")


def _score(machine: Equipment, said: Sequence[str], text: str) -> tuple[float, tuple[str, ...]]:
    """The best of model, maker and nicknames: a model is worth most, a maker little by itself."""
    squeezed = "".join(c for c in text.lower() if c.isalnum())
    score, told = 0.0, []
    for model in _models(machine):
        if model in squeezed:
            score, told = 1.0, [model]
            break
        word, near = _nearest(model, [*_pairs(said), *said])
        if near >= 0.66 and any(c.isdigit() for c in word):
            score, told = max(score, near * 0.8), [word]
    word, near = _nearest(machine.maker.lower(), said)
    if near >= 0.7:
        score, told = min(1.0, score + 0.42 * near), [*told, word]
    nick, near = max((_nickname(name, said) for name in nicknames_of(machine)), key=lambda n: n[1], default=("", 0.0))
    if near >= 0.75:
        score, told = min(1.0, max(score, 0.0) + 0.6 * near), [*told, nick]
    return score, tuple(dict.fromkeys(told))


def nicknames_of(machine: Equipment) -> tuple[str, ...]:
    """What callers call a machine of its category, and its title without maker and model."""
    category = machine.category.lower()
    names = [n for key, names in _NICKNAMES.items() if key in category for n in names]
    plain = [w for w in machine.title.lower().split() if w != machine.maker.lower() and not any(map(str.isdigit, w))]
    return tuple(dict.fromkeys([*names, category, *([" ".join(plain)] if plain else [])]))


def _models(machine: Equipment) -> list[str]:
    """The parts of its title with a digit in them, such as a type."""
    named = [w.lower() for w in machine.title.split() if any(c.isdigit() for c in w)]
    return list(dict.fromkeys("".join(c for c in w if c.isalnum()) for w in named))


def _pairs(said: Sequence[str]) -> list[str]:
    return [a + b for a, b in pairwise(said)]


def _nearest(name: str, said: Sequence[str]) -> tuple[str, float]:
    """The word most like a name, and how like."""
    best = max(((1 - slips(name, w) / max(len(name), len(w)), w) for w in said), default=(0.0, ""))
    return best[1], best[0]


def _nickname(name: str, said: Sequence[str]) -> tuple[str, float]:
    """How surely a nickname is among the words: every word of it, a slip in a longer one allowed."""
    wanted = [w.text for w in words_of(name)]
    stems = {stem(w): w for w in said}
    told, total = [], 0.0
    for word in wanted:
        if stem(word) in stems:
            told.append(stems[stem(word)])
            total += 1.0
            continue
        near, like = _nearest(word, [*said, *_pairs(said)])
        if len(word) < 4 or like < 0.7:
            return "", 0.0
        told.append(near)
        total += like
    return " ".join(told), total / len(wanted) if wanted else 0.0
