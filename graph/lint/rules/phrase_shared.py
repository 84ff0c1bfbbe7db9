"""Phrases that two symptoms share."""

from __future__ import annotations

import re
from collections.abc import Iterator

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject

_SMALL = frozenset([
    "a", "an", "the", "it", "its", "is", "it's", "this", "that", "there", "there's", "our", "my", "we", "i",
    "i'm", "we've", "been", "being", "be", "was", "of", "at", "in", "to", "and", "just", "really", "very",
    "quite", "so", "always", "again", "now", "still", "up", "down", "has", "have", "had", "having", "any",
    "some", "all",
])


def normal(phrase: str) -> tuple[str, ...]:
    """What is left of a phrase without case, punctuation, small words, plain endings and order.

    Words that turn the meaning (not, no, never, off, on) stay. A phrase of small words alone is left whole.
    """
    words = re.findall(r"[^\W_]+(?:'[^\W_]+)?", phrase.casefold().replace("\u2019", "'"))
    kept = [_stem(w) for w in words if w not in _SMALL]
    return tuple(sorted(set(kept or words)))


def _stem(word: str) -> str:
    """A word without its plain ending and without a doubled last letter: dripping, drips and drip are one."""
    word = word.removesuffix("'s")
    for ending, least in (("ing", 4), ("ed", 4), ("es", 4), ("s", 3)):
        if word.endswith(ending) and len(word) - len(ending) >= least:
            word = word.removesuffix(ending)
            break
    return word[:-1] if len(word) > 3 and word[-1] == word[-2] else word


def _look(subject: Subject) -> Iterator[Remark]:
    first: dict[tuple[str, ...], tuple[str, str]] = {}
    for name, symptom in subject.equipment.symptoms.items():
        for i, phrase in enumerate(symptom.phrases):
            owner, said = first.setdefault(normal(phrase), (name, phrase))
            if owner != name:
                yield Remark(("symptoms", name, "phrases", i), f"{phrase!r}, which is also {said!r} of {owner}",
                             "words that a caller would use for this symptom alone")


RULE = LintRule(
    code="phrase-shared",
    says="The same phrase under two symptoms, or one that differs in small words, endings and order alone.",
    why="What a caller says is then taken for either, by chance.",
    wrong="""
symptoms: {drips_at_tap: {phrases: ["The puddle is under the spout", "It really doesn't heat at all!"]}}
""",
    right="""
symptoms: {drips_at_tap: {phrases: ["The puddle is under the spout", "It heats but drips."]}}
""",
    look=_look,
)
