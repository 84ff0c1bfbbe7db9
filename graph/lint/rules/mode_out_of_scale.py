"""Failure modes with an implausible share of the calls."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.places import of_mode
from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject

MOST, LEAST = 0.15, 1e-4
"""Shares of the calls that failure modes cause: common practice, no source."""


def _look(subject: Subject) -> Iterator[Remark]:
    total = sum(m.calls_per_thousand for m in subject.equipment.modes.values())
    for mode in subject.equipment.modes.values():
        share = mode.calls_per_thousand / total
        if share > MOST and len(subject.equipment.modes) > 1 / MOST:
            yield Remark((*of_mode(mode.id), "calls_per_thousand"), f"{share:.0%} of all faults",
                         f"at most {MOST:.0%}; a cause that common is worth telling apart into several")
        elif share < LEAST:
            yield Remark((*of_mode(mode.id), "calls_per_thousand"), f"{share:.1g} of all faults",
                         "calls in a thousand, or no such failure mode")


RULE = LintRule(
    code="mode-out-of-scale",
    says="A failure mode that causes more than 15 in 100 of the calls of the failure modes, or less than 1 in 10,000.",
    why="Real machines fail in many ways; a mode this common is several modes in one, or a slip of the decimal point.",
    wrong="""
components: {reservoir: {failure_modes: {empty: {calls_per_thousand: 220}}}}
""",
    right="""
components: {reservoir: {failure_modes: {empty: {calls_per_thousand: 125}}}}
""",
    look=_look,
)
