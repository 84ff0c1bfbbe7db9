"""Signals that nothing observes and nothing depends on."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject


def _look(subject: Subject) -> Iterator[Remark]:
    equipment = subject.equipment
    used = {o.reveals for o in equipment.observations.values()}
    used |= {name for step in equipment.sequence for name, _ in step.shows}
    open_ends = [name for name in used if name in equipment.signals]
    while open_ends:
        for rule in equipment.signals[open_ends.pop()].rules:
            for name, _ in rule.needs:
                if name in equipment.signals and name not in used:
                    used.add(name)
                    open_ends.append(name)
    for name in equipment.signals:
        if name not in used:
            yield Remark(
                ("signals", name), "a signal that nothing shows",
                "a symptom, test or step that shows it or a signal after it, or no such signal",
            )


RULE = LintRule(
    code="signal-unused",
    says="A signal that no symptom, test or step shows, directly or through other signals.",
    why="It is worked out for nothing, or the test that should reveal it was forgotten.",
    wrong="""
signals:
  steam:
    title: Steam at the lid
    states: [present, absent]
    rules: [{when: {heat: [weak, none]}, state: absent}, {state: present}]
""",
    right="""
signals:
  steam:
    title: Steam at the lid
    states: [present, absent]
    rules: [{when: {heat: [weak, none]}, state: absent}, {state: present}]
symptoms:
  no_steam:
    title: No steam
    shows: {steam: absent}
    question: Does it steam?
    phrases: [Nothing comes off the lid., It never steams.]
""",
    look=_look,
)
