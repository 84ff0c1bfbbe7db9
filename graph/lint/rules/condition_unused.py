"""Conditions that nothing depends on."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject


def _look(subject: Subject) -> Iterator[Remark]:
    for name in subject.equipment.conditions:
        if name not in subject.used_conditions:
            yield Remark(("conditions", name), "a condition that nothing depends on",
                         "`raised_by`, `only_if` or a rule that uses it, or no such condition")


RULE = LintRule(
    code="condition-unused",
    says="A condition that raises no rate and that no failure mode, signal or test depends on.",
    why="It would be asked for, and the answer would change nothing.",
    wrong="""
components: {element: {failure_modes: {scaled: {raised_by: null}}}}
tests: {test_strip: null}
""",
    right="""
tests: {test_strip: null}
""",
    look=_look,
)
