"""A free answer to a question that was asked: which of its outcomes is meant, and how surely."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import ClassVar

from graph.equipment import Observation
from graph.records import DOCUMENTED
from graph.words.answers import asked_back
from graph.words.clauses import clauses_of
from graph.words.dangers import Danger, dangers_of
from graph.words.index import Index, Wording, indexed
from graph.words.matching import complaints_of
from graph.words.measures import measures_of, number_of
from graph.words.stems import words_of

SURE = 0.75
"""Confidence below which a confirmation is asked for."""
_CANT = re.compile(
    r"\b(?:don'?t know|do not know|no idea|not sure|dunno|can'?t (?:tell|see|say|find|hear|look|reach|get)|cannot "
    r"(?:tell|see|say|find)|couldn'?t (?:tell|say|see)|hard to (?:say|tell)|no clue|"
    r"haven'?t (?:looked|checked|noticed)|"
    r"i'?m not there|not at the machine|unsure|who knows|skip|pass)\b", re.I,
)
_YES = re.compile(r"^\W*(?:yes|yeah|yep|yup|aye|sure|correct|exactly|that'?s (?:it|right|so)|it is|it does|"
                  r"they are|there is|y|indeed|definitely|absolutely|ja)\b", re.I)
_NO = re.compile(r"^\W*(?:no|nope|nah|not|never|negative|it is ?n[o']?t|it does ?n[o']?t|it'?s not|they are ?n[o']?t|"
                 r"there is ?n[o']?t|n|none)\b", re.I)
_HEDGE = re.compile(r"\b(?:i think|maybe|perhaps|probably|sort of|kind of|might|could be|i guess|i believe|possibly|"
                    r"sometimes|a bit|not really|hardly|more or less)\b", re.I)
_DIGITS = re.compile(r"\b\d+\b|\b(?:one|two|three|four|five|six|seven|eight|nine|ten)\b", re.I)
_SIGNED = re.compile(rf"(?P<minus>minus |[-\u2212])?(?P<number>\d+(?:[.,]\d+)?|{_DIGITS.pattern})", re.I)
_FIGURE = r"[-\u2212]?\d+(?:[.,]\d+)?"
_RANGE = re.compile(
    rf"(?:(?P<below>under|below)|(?P<above>over|above)|at)? ?(?P<low>{_FIGURE})(?: to (?P<high>{_FIGURE}))?"
    r"(?: (?P<more>or more)| (?P<less>or less))?", re.I,
)
"""The figures that an outcome's title begins with: 2.5 to 6 minutes, below \u221225 °C, at 4 or more."""
_WHICH = re.compile(r", or\b|^(?:which|how|what|where|who)\b|, and (?:is|are|did|can|has|have|how)\b|once, or", re.I)


@dataclass(frozen=True)
class HeardAnswer:
    """What an answer means. `outcome` null: nothing of it was understood."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    outcome: str | None
    """An outcome of the question, or `could_not_tell`."""
    title: str
    confidence: float
    confirm: str | None
    """What to ask back before it is recorded; null where it is sure enough."""
    dangers: tuple[Danger, ...]
    """With any, nothing else of the answer matters."""


def hear(asked: Observation, text: str) -> HeardAnswer:
    """The outcome that a free answer to a question means.

    A plain yes or no is only taken for itself where the question can be answered so: “do you hear water go in?” has its
    no where the symptom is there.
    """
    text = text.replace("\u2019", "'")
    dangers = dangers_of(text)
    if dangers:
        return HeardAnswer(None, dangers[0].title, 0.0, None, dangers)
    if cannot_tell(text):
        return HeardAnswer("could_not_tell", "can't tell", 0.95, None, ())
    outcome, confidence = _meant(asked, text.strip())
    if outcome is None:
        return HeardAnswer(None, "", 0.0, f"Sorry, I didn't follow. {_offer(asked)}", ())
    if _HEDGE.search(text):
        confidence *= 0.75
    title = asked.outcome_title(outcome)
    if asked.kind == "symptom" and outcome == "absent":
        title = f"it is not so that: {asked.title}"
    confirm = None
    if confidence < SURE:
        confirm = asked_back(asked.title if asked.kind == "symptom" else title, outcome != "absent")
    return HeardAnswer(outcome, title, round(confidence, 2), confirm, ())


def _offer(asked: Observation) -> str:
    if asked.kind == "symptom":
        return f"Is it so or not: “{asked.title}”? You can also say that you can't tell."
    return "Is it one of these: " + "; ".join(o.title for o in asked.outcomes) + "? Or you can't tell?"


def _meant(asked: Observation, text: str) -> tuple[str | None, float]:
    ids = [o.id for o in asked.outcomes]
    exact = next((o.id for o in asked.outcomes if text.lower().strip(" .!") in (o.title.lower(), o.id)), None)
    if exact is not None:
        return exact, 1.0
    if text.strip(" .").isdigit() and 1 <= int(text.strip(" .")) <= len(ids) and asked.kind == "symptom":
        return ids[int(text.strip(" .")) - 1], 0.9
    words, sure = _by_words(asked, text)
    bare, told = _by_yes_or_no(asked, text)
    numbered = _by_number(asked, text)
    if numbered is not None:
        return numbered, 0.9
    if words is not None and bare is not None and words != bare:
        return words, 0.5
    if words is not None and (bare is not None or sure >= told):
        return words, min(1.0, sure + (0.15 if bare is not None else 0.0))
    return bare, told


def _by_yes_or_no(asked: Observation, text: str) -> tuple[str | None, float]:
    """A yes or no: sure where it is clear which way the question stands."""
    said = yes_or_no(text)
    if said is None or {o.id for o in asked.outcomes} != {"present", "absent"}:
        return None, 0.0
    way = direction(asked)
    present = said if way >= 0 else not said
    return ("present" if present else "absent"), (0.9 if way else 0.5)


def cannot_tell(text: str) -> bool:
    """Whether a text says that they can't tell, or won't."""
    return _CANT.search(text.replace("\u2019", "'")) is not None


def yes_or_no(text: str) -> bool | None:
    """Whether a text begins with a yes or a no; None where with neither."""
    return True if _YES.search(text) else False if _NO.search(text) else None


def direction(asked: Observation) -> int:
    """What a yes to a symptom's question means: 1 that it is there, -1 that it is not, 0 where that isn't clear."""
    question = " ".join(asked.how)
    if not question or _WHICH.search(question):
        return 0
    title = {f.concept: f.sign for c in clauses_of(asked.title) for f in c.features if f.state or f.sign < 0}
    told = {f.concept: f.sign for c in clauses_of(question) for f in c.features}
    shared = [title[c] * told[c] for c in title if told.get(c)]
    states = {f.concept for c in clauses_of(asked.title) for f in c.features if f.state and f.known}
    if not shared or not states <= {c for c in title if told.get(c)}:
        return 0
    return 1 if sum(shared) == len(shared) else -1 if sum(shared) == -len(shared) else 0


def _by_number(asked: Observation, text: str) -> str | None:
    """The one outcome whose title has the number that was said (three flashes), or a range with it (2.5 to 6)."""
    if asked.kind != "test":
        return None
    said = {number_of(n) for n in _DIGITS.findall(text)}
    having = [o.id for o in asked.outcomes if said & {number_of(n) for n in _DIGITS.findall(o.title)[:1]}]
    figures = {m.value for m in measures_of(text) if m.kind == "temperature"} or {
        (-1 if found["minus"] else 1) * number_of(found["number"]) for found in _SIGNED.finditer(text)}
    within = [o.id for o in asked.outcomes if any(_holds(o.title, figure) for figure in figures)]
    found = within if len(within) == 1 else having
    return found[0] if len(found) == 1 else None


def _holds(title: str, figure: float) -> bool:
    """Whether a title begins with a range, and the figure is in it."""
    found = _RANGE.match(title)
    if found is None or not any(found[part] for part in ("below", "above", "high", "more", "less")):
        return False
    low, high = (
        float((found[part] or found["low"]).replace(",", ".").replace("\u2212", "-")) for part in ("low", "high"))
    if found["below"] or found["less"]:
        return figure < high or (figure == high and bool(found["less"]))
    if found["above"] or found["more"]:
        return figure > low or (figure == low and bool(found["more"]))
    return low <= figure <= high


def _by_words(asked: Observation, text: str) -> tuple[str | None, float]:
    """The outcome whose wording the answer is most like; what is denied of a symptom is its absence."""
    index = _index(asked)
    best: dict[str, float] = {}
    for complaint in complaints_of(index, text):
        for match in complaint.matches:
            outcome = match.symptom if match.present else "absent" if asked.kind == "symptom" else ""
            if outcome and not (asked.kind == "symptom" and match.symptom == "absent"):
                best[outcome] = max(best.get(outcome, 0.0), match.score)
    alike = _alike(asked, text)
    for outcome, share in alike.items():
        best[outcome] = max(best.get(outcome, 0.0), 0.0) + 0.6 * share
    if not best:
        return None, 0.0
    ranked = sorted(best.items(), key=lambda item: (-item[1], item[0]))
    lead = ranked[0][1] - (ranked[1][1] if len(ranked) > 1 else 0.0)
    return ranked[0][0], min(0.95, 0.45 + 0.3 * ranked[0][1] + 0.5 * lead)


def _alike(asked: Observation, text: str) -> dict[str, float]:
    """The share of each outcome's own words, small ones included, that a test's answer has: on, off, in, out."""
    if asked.kind == "symptom":
        return {}
    titles = {o.id: {w.stem for w in words_of(o.title)} for o in asked.outcomes}
    rare = {s: 1 / sum(s in words for words in titles.values()) ** 2 for words in titles.values() for s in words}
    said = {w.stem for w in words_of(text)}
    shares = {
        o: sum(rare[s] for s in words & said) / max(1.0, sum(rare[s] for s in words)) for o, words in titles.items()
    }
    return {o: share for o, share in shares.items() if share >= 0.12}


@lru_cache(maxsize=512)
def _index(asked: Observation) -> Index:
    """The wordings of the outcomes of one question."""
    if asked.kind == "symptom":
        return indexed([Wording("", "present", t) for t in (asked.title, *asked.phrases)])
    return indexed([Wording("", o.id, o.title) for o in asked.outcomes])
