"""What Halfsplit answers about a caller's words. Scores are 0..1, no chances; nothing becomes a finding by itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar, Literal

from graph.equipment import Equipment
from graph.records import DOCUMENTED
from graph.words.dangers import Danger
from graph.words.machines import MachineMatch
from graph.words.matching import Complaint, Likely
from graph.words.measures import Measure

PLAIN, LEAD = 0.8, 0.1
"""Score, and its lead over the next, from which one symptom is asked about alone."""


@dataclass(frozen=True)
class SymptomMatch:
    """A symptom that may be meant, to be confirmed before it is recorded as a finding."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    equipment: str
    symptom: str
    title: str
    outcome: Literal["present", "absent"]
    """`absent` where the caller denies it."""
    score: float
    wording: str
    """The title or phrase of the graph that it is most like."""
    words: tuple[str, ...]
    """The words of the caller that told."""
    question: str
    """What to ask, to be sure."""


@dataclass(frozen=True)
class ComplaintMatches:
    """One of the things that were said, and what it may mean, likeliest first."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    text: str
    start: int
    """Where it begins in the message, in characters."""
    end: int
    matches: tuple[SymptomMatch, ...]
    plain: bool
    """Whether the first match alone is asked about, to be said yes or no to; otherwise the caller picks one."""
    confirm: str
    """What to ask back before any of it is recorded."""


@dataclass(frozen=True)
class WordMatches:
    """What a message may mean."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    dangers: tuple[Danger, ...]
    """Before everything else: say the instructions, ask nothing more."""
    machines: tuple[MachineMatch, ...]
    """The machines that may be meant, by name; empty where the message names none."""
    complaints: tuple[ComplaintMatches, ...]
    """In the order in which they were said; one that matches nothing, or says again what another says, is left out."""
    measures: tuple[Measure, ...]
    """Temperatures and times."""
    sentence: str


def word_matches(
    equipment: Mapping[str, Equipment], complaints: Sequence[Complaint], dangers: tuple[Danger, ...],
    machines: tuple[MachineMatch, ...], measures: tuple[Measure, ...], most: int,
) -> WordMatches:
    """The answer about a message; at most `most` symptoms for each complaint."""
    told = _once([
        _complaint(c, tuple(_match(equipment[m.equipment], m) for m in c.matches[:most]))
        for c in complaints if c.matches
    ])
    return WordMatches(dangers, machines, told, measures, _sentence(told, dangers))


def asked_back(title: str, present: bool) -> str:
    """What to ask before a symptom is recorded as so, or as not so."""
    if not present:
        return f"So this is not the case: “{title}”. Have I got that right?"
    return f"I take that as “{title}”. Is that right?"


def _complaint(said: Complaint, matches: tuple[SymptomMatch, ...]) -> ComplaintMatches:
    best = matches[0]
    lead = best.score - (matches[1].score if len(matches) > 1 else 0.0)
    plain = best.outcome == "absent" or len(matches) == 1 or (best.score >= PLAIN and lead >= LEAD)
    if not plain:
        confirm = f"“{said.text}”: which of these comes nearest?"
    elif best.outcome == "absent":
        confirm = asked_back(best.title, present=False)
    else:
        confirm = f"“{said.text}”: {asked_back(best.title, present=True)}"
    return ComplaintMatches(said.text, said.start, said.end, matches, plain, confirm)


def _once(told: Sequence[ComplaintMatches]) -> tuple[ComplaintMatches, ...]:
    """Each thing once: a complaint goes that may mean what another says plainly, or that has the lead of an earlier."""
    kept: list[ComplaintMatches] = []
    for complaint in sorted(told, key=lambda c: not c.plain):
        meant = [_meaning(match) for match in complaint.matches]
        of_plain = {_meaning(k.matches[0]) for k in kept if k.plain}
        leading = {_meaning(k.matches[0]) for k in kept}
        if meant[0] not in leading and (complaint.plain or of_plain.isdisjoint(meant)):
            kept.append(complaint)
    return tuple(sorted(kept, key=lambda c: c.start))


def _match(machine: Equipment, likely: Likely) -> SymptomMatch:
    symptom = machine.observations[likely.symptom]
    return SymptomMatch(
        machine.id, symptom.id, symptom.title, "present" if likely.present else "absent", round(likely.score, 3),
        likely.wording, likely.words, " ".join(symptom.how),
    )


def _meaning(match: SymptomMatch) -> tuple[str, str, str]:
    return match.equipment, match.symptom, match.outcome


def _sentence(told: Sequence[ComplaintMatches], dangers: Sequence[Danger]) -> str:
    lead = ""
    if dangers:
        lead = f"{dangers[0].title}: {dangers[0].instructions[0]} Ask nothing more until it is safe. "
    said = [f"“{c.text}” may mean “{c.matches[0].title}”" for c in told if c.matches[0].outcome == "present"]
    denied = [f"“{c.text}” denies “{c.matches[0].title}”" for c in told if c.matches[0].outcome == "absent"]
    if not said and not denied:
        nothing = "Nothing that was said is like a symptom that the graph knows."
        return f"{lead}{nothing} Ask what the machine does or doesn't do."
    return lead + "; ".join([*said, *denied]) + ". Confirm it before it is recorded."
