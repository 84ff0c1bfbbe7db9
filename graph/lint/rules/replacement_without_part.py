"""Replacements that use up no part."""

from __future__ import annotations

import re
from collections.abc import Iterator

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject

_REPLACES = re.compile(r"^(replace|renew|fit (a|an|the) new)\b", re.IGNORECASE)


def _look(subject: Subject) -> Iterator[Remark]:
    for name, remedy in subject.equipment.remedies.items():
        if _REPLACES.search(remedy.title) and not remedy.parts and not remedy.materials:
            yield Remark(
                ("remedies", name), "a replacement without a part", "`parts`, or `materials` for what is no part"
            )


RULE = LintRule(
    code="replacement-without-part",
    says="A remedy that replaces or fits something new, without parts or materials.",
    why="The kit leaves the part behind, and the visit ends with a second trip.",
    wrong="""
remedies: {replace_washer: {parts: null}}
parts: {washer: null}
""",
    right="""
remedies: {replace_washer: {parts: {washer: 2}}}
""",
    look=_look,
)
