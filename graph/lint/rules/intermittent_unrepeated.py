"""Faults that come and go, and no test that waits for them."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.places import of_mode
from graph.lint.rule import LintRule, Remark
from graph.lint.subject import SEEN, Subject


def _look(subject: Subject) -> Iterator[Remark]:
    patient = [
        subject.shows[name] for name, test in subject.equipment.tests.items()
        if (test.repeats > 1 or test.sees_intermittent) and name in subject.shows
    ]
    for mode in subject.equipment.modes.values():
        number = subject.mode_number[mode.id]
        if mode.shows < 1 and number in subject.mode and not any(moved[number] >= SEEN for moved in patient):
            yield Remark(of_mode(mode.id), "a fault that comes and goes, and no test that waits for it",
                         "`repeats` of a test that shows it, or `sees_intermittent` where it leaves a mark")


RULE = LintRule(
    code="intermittent-unrepeated",
    says="An intermittent failure mode that no test shows by repeating, nor while it is not showing.",
    why="One clean trial proves nothing of a fault that shows three times in ten.",
    wrong="""
tests: {watch_thermostat: {repeats: 1}}
""",
    right="""
tests: {watch_thermostat: {repeats: 1, sees_intermittent: true}}
""",
    look=_look,
)
