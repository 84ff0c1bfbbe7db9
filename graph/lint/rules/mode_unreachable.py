"""Failure modes that no unit can have."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.places import of_mode
from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject


def _look(subject: Subject) -> Iterator[Remark]:
    possible = set(subject.mode.tolist())
    for mode, number in subject.mode_number.items():
        if number not in possible:
            yield Remark(of_mode(mode), "a failure mode that no unit can have", "`only_if` that some units meet")


RULE = LintRule(
    code="mode-unreachable",
    says="A failure mode that cannot occur: its conditions contradict each other, or never hold.",
    why="It is never suspected, its remedy never offered, and nobody notices that it is missing.",
    wrong="""
components:
  thermostat:
    only_if: {water_hardness: soft}
    failure_modes: {drops_out: {only_if: {water_hardness: hard}}}
""",
    right="""
components:
  thermostat:
    failure_modes: {drops_out: {only_if: {water_hardness: hard}}}
""",
    look=_look,
)
