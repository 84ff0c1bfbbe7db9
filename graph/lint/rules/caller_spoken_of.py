"""Remedies for callers that are worded for somebody who talks to a caller."""

from __future__ import annotations

import re
from collections.abc import Iterator

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject

_SPEAKING = re.compile(r"(?:explain|show|agree|advise|teach|instruct)\b", re.I)


def _look(subject: Subject) -> Iterator[Remark]:
    for name, remedy in subject.equipment.remedies.items():
        if remedy.role != "site_contact":
            if remedy.caller is not None:
                yield Remark(("remedies", name, "caller"), "words for a caller who never does it",
                             "`role: site_contact`, or no `caller`")
            continue
        said = (remedy.title, *remedy.how) if remedy.caller is None else (remedy.caller.title, *remedy.caller.how)
        spoken = next((words for words in said if _SPEAKING.match(words)), None)
        if spoken is not None:
            place = ("remedies", name) if remedy.caller is None else ("remedies", name, "caller")
            yield Remark(place, f"“{spoken}” is no word to a caller", "`caller`: what the caller is told to do")


RULE = LintRule(
    code="caller-spoken-of",
    says="A remedy for a site contact that begins with explain, show, agree …, and `caller` that nobody is told.",
    why="A site contact is told the remedy itself: whoever is asked to explain that the bin is full asks whom.",
    wrong="""
remedies: {fill_urn: {title: Explain how the urn is filled}}
""",
    right="""
remedies:
  fill_urn:
    title: Explain how the urn is filled
    caller: {title: Fill the urn, how: [Up to the mark on the sight glass.], worked: Water stands at the mark.}
""",
    look=_look,
)
