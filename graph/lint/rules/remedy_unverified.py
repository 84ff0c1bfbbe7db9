"""Remedies without a test that proves them."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject


def _look(subject: Subject) -> Iterator[Remark]:
    for name, remedy in subject.equipment.remedies.items():
        if remedy.verify is None:
            yield Remark(("remedies", name), "a remedy that nothing proves", "`verify`: the test that shows it")


RULE = LintRule(
    code="remedy-unverified",
    says="A remedy that names no test in `verify`.",
    why="The visit ends on hope, and what is learned from it is a guess.",
    wrong="""
remedies: {descale: {verify: null}}
""",
    right="""
remedies: {descale: {verify: time_to_boil}}
""",
    look=_look,
)
