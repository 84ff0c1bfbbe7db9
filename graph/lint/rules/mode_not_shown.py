"""Failure modes that no symptom shows."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.places import of_mode
from graph.lint.rule import LintRule, Remark
from graph.lint.subject import SEEN, Subject


def _look(subject: Subject) -> Iterator[Remark]:
    symptoms = [subject.shows[s] for s in subject.equipment.symptoms if s in subject.shows]
    possible = set(subject.mode.tolist())
    for mode, number in subject.mode_number.items():
        if number in possible and not any(moved[number] >= SEEN for moved in symptoms):
            yield Remark(
                of_mode(mode), "a failure mode that no symptom shows",
                "a rule that leads from it to a signal that a symptom shows, or a symptom of its own",
            )


RULE = LintRule(
    code="mode-not-shown",
    says="A failure mode that changes nothing that a caller could report.",
    why="A call that it causes begins with no words for it, so it is found late or taken for no fault at all.",
    wrong="""
symptoms: {drips_at_tap: null}
""",
    right="""
symptoms: {drips_at_tap: {shows: {draw_tap: [drips]}}}
""",
    look=_look,
)
