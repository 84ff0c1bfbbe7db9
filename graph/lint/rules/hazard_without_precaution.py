"""Hazards whose precautions say too little."""

from __future__ import annotations

import re
from collections.abc import Iterator

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject

WORDS = 6
"""Words that the precautions of a hazard have at least."""
_DEFERS = re.compile(r"code|licen|rule|label|data sheet|regulation|standard|law|permit|first.aid", re.IGNORECASE)


def _look(subject: Subject) -> Iterator[Remark]:
    for name, hazard in subject.equipment.hazards.items():
        said = " ".join(hazard.precautions)
        if len(said.split()) < WORDS:
            yield Remark(("hazards", name, "precautions"), f"precautions of {len(said.split())} words",
                         "what to do so that nobody is hurt, in a sentence or two")
        elif not _DEFERS.search(said):
            yield Remark(("hazards", name, "precautions"), "precautions that defer to nothing",
                         "a word on the local codes, licence, site rules or label that come first")


RULE = LintRule(
    code="hazard-without-precaution",
    says="A hazard whose precautions are next to nothing, or never defer to local codes, licence, rules or label.",
    why="Whoever does the work sees these lines and no others; a hazard that is only named protects nobody.",
    wrong="""
hazards: {hot_water: {precautions: [Careful]}}
""",
    right="""
hazards: {hot_water: {precautions: ["Gloves, and let it cool first; local safety rules apply."]}}
""",
    look=_look,
)
