"""Verifications that would not notice that the remedy failed."""

from __future__ import annotations

from collections.abc import Iterator

from graph.equipment import FailureMode
from graph.lint.rule import LintRule, Remark
from graph.lint.subject import SEEN, Subject


def _look(subject: Subject) -> Iterator[Remark]:
    chief: dict[str, FailureMode] = {}
    for mode in subject.equipment.modes.values():
        before = chief.setdefault(mode.remedies[0], mode)
        if mode.calls_per_thousand > before.calls_per_thousand:
            chief[mode.remedies[0]] = mode
    for name, mode in chief.items():
        verify, number = subject.equipment.remedies[name].verify, subject.mode_number[mode.id]
        if verify in subject.shows and number in subject.mode and subject.shows[verify][number] < SEEN:
            yield Remark(
                ("remedies", name, "verify"), f"{verify}, which comes out the same with {mode.id} still there",
                "a test that shows it",
            )


RULE = LintRule(
    code="verify-blind",
    says=(
        "A verifying test that comes out the same whether or not the failure mode that its remedy is most often "
        "done for is still there."
    ),
    why="It says that all is well in any case.",
    wrong="""
remedies: {descale: {verify: look_socket}}
""",
    right="""
remedies: {descale: {verify: time_to_boil}}
""",
    look=_look,
)
