"""Tests whose outcome no failure mode changes."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import SEEN, Subject


def _look(subject: Subject) -> Iterator[Remark]:
    equipment = subject.equipment
    for name, test in equipment.tests.items():
        if test.reveals in equipment.conditions:
            if test.reveals not in subject.used_conditions:
                yield Remark(
                    ("tests", name), f"a test that reveals {test.reveals}, which nothing depends on",
                    "`raised_by`, `only_if` or a rule that uses the condition, or no such test",
                )
        elif not (subject.shows[name] >= SEEN).any():
            yield Remark(
                ("tests", name), "a test that comes out the same whatever is wrong",
                "outcomes for the states that failure modes bring about",
            )


RULE = LintRule(
    code="test-decides-nothing",
    says="A test that comes out the same whatever is wrong, or asks for a condition that nothing depends on.",
    why="It costs minutes and can change no decision; most often its `reveals` or its outcomes are slips.",
    wrong="""
tests: {look_element: {right_in_100: 50}}
remedies: {descale: {verify: time_to_boil}}
""",
    right="""
tests: {look_element: {right_in_100: 80}}
""",
    look=_look,
)
