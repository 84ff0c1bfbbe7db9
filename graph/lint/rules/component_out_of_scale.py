"""Components with an implausible share of the calls."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject

MOST = 0.25
"""Share of the calls that failure modes cause: common practice, no source."""


def _look(subject: Subject) -> Iterator[Remark]:
    equipment = subject.equipment
    total = sum(m.calls_per_thousand for m in equipment.modes.values())
    for name, component in equipment.components.items():
        share = sum(equipment.modes[m].calls_per_thousand for m in component.modes) / total
        if share > MOST and len(equipment.components) > 1 / MOST:
            yield Remark(("components", name), f"a component with {share:.0%} of all faults", f"at most {MOST:.0%}")


RULE = LintRule(
    code="component-out-of-scale",
    says="A component whose failure modes cause more than 25 in 100 of the calls.",
    why="Then it is several components, or the others have been forgotten.",
    wrong="""
components:
  element:
    failure_modes:
      burnt_out: {calls_per_thousand: 140}
      leaks: {title: Seal leaks, calls_per_thousand: 60, remedies: [replace_element]}
signals:
  heat:
    rules:
      - {when: {element_supply: absent}, state: none}
      - {when: {element: [burnt_out, leaks]}, state: none}
      - {when: {element: scaled}, state: weak}
      - {state: full}
""",
    right="""
components: {element: {failure_modes: {burnt_out: {calls_per_thousand: 100}}}}
""",
    look=_look,
)
