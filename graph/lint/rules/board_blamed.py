"""Control boards that are blamed too often."""

from __future__ import annotations

import re
from collections.abc import Iterator

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject

MOST = 0.05
"""Share of the calls that failure modes cause: common practice, no source."""
_BOARD = re.compile(r"\b(board|controller|control unit|electronic control|pcb|main control)s?$", re.IGNORECASE)


def _look(subject: Subject) -> Iterator[Remark]:
    equipment = subject.equipment
    total = sum(m.calls_per_thousand for m in equipment.modes.values())
    boards = [c for c in equipment.components.values() if _BOARD.search(c.title) and not c.external]
    share = sum(equipment.modes[m].calls_per_thousand for c in boards for m in c.modes) / total
    if share > MOST:
        yield Remark(("components", boards[0].id), f"boards with {share:.0%} of all faults", f"at most {MOST:.0%}")


RULE = LintRule(
    code="board-blamed",
    says="Boards and controllers that cause more than 5 in 100 of the calls.",
    why=(
        "Boards come back from the workshop with nothing found: what feeds them and what they watch fails far more "
        "often."
    ),
    wrong="""
components:
  control_board:
    title: Control board
    failure_modes: {dead: {title: Dead, calls_per_thousand: 90, remedies: [replace_element]}}
signals:
  supply: {rules: [{when: {any_fault: [socket.off, control_board.dead]}, state: absent}, {state: present}]}
""",
    right="""
components:
  control_board:
    title: Control board
    failure_modes: {dead: {title: Dead, calls_per_thousand: 9, remedies: [replace_element]}}
signals:
  supply: {rules: [{when: {any_fault: [socket.off, control_board.dead]}, state: absent}, {state: present}]}
""",
    look=_look,
)
