"""Lockouts that leave a stored alarm as it is."""

from __future__ import annotations

import re
from collections.abc import Iterator

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject

_STORED = re.compile(
    r"\b(alarm|fault|error) ?(count|code|log|memory|history)|latched|blink count"
    r"|stored (alarm|fault|error)",
    re.IGNORECASE,
)


def _look(subject: Subject) -> Iterator[Remark]:
    equipment = subject.equipment
    stored = [s for s in equipment.signals.values() if _STORED.search(s.title) or "latched" in s.id]
    for name, unit in equipment.unit_states.items():
        if stored and unit.lockout is not None and not unit.disturbs.get(unit.lockout):
            yield Remark(
                ("unit_states", name), f"a lockout that leaves {stored[0].id} as it is",
                f"`disturbs: {{{unit.lockout}: [{stored[0].id}]}}`",
            )


RULE = LintRule(
    code="lockout-keeps-alarm",
    says="A signal that reads like a stored alarm or blink count on a unit whose lockout disturbs nothing.",
    why=(
        "Most boards forget an alarm with the supply; the first who isolates wipes the best evidence there is. "
        "Accept it where the memory keeps."
    ),
    wrong="""
signals:
  alarm:
    title: Stored alarm of the control
    states: [none, dry]
    rules: [{when: {water: absent}, state: dry}, {state: none}]
tests:
  read_alarm: {title: Read the stored alarm, reveals: alarm, minutes: 1, outcomes: {none: [none], dry: [dry]}}
""",
    right="""
signals:
  alarm:
    title: Stored alarm of the control
    states: [none, dry]
    rules: [{when: {water: absent}, state: dry}, {state: none}]
tests:
  read_alarm: {title: Read the stored alarm, reveals: alarm, minutes: 1, outcomes: {none: [none], dry: [dry]}}
unit_states: {power: {disturbs: {isolated: [alarm]}}}
""",
    look=_look,
)
