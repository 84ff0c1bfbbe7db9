"""Parts that no remedy uses."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject


def _look(subject: Subject) -> Iterator[Remark]:
    equipment = subject.equipment
    used = {p for r in equipment.remedies.values() for part, _ in r.parts for p in equipment.serving(part)}
    for name in equipment.parts:
        if name not in used:
            yield Remark(
                ("parts", name), "a part that no remedy uses", "its name in `parts` of a remedy, or no such part"
            )


RULE = LintRule(
    code="part-unused",
    says="A part that no remedy uses, directly, as an alternative or in the place of an older one.",
    why="It is never brought, whatever fails.",
    wrong="""
parts: {lamp: {number: Q-130, title: Pilot lamp, price: 4}}
""",
    right="""
parts:
  thermostat_unit: {superseded_by: thermostat_2}
  thermostat_2: {number: Q-111, title: Thermostat with longer bulb, price: 31}
""",
    look=_look,
)
