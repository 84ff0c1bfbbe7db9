"""Steps of the operating sequence that show no signal."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject


def _look(subject: Subject) -> Iterator[Remark]:
    sequence = subject.equipment.sequence
    if not sequence:
        yield Remark(("equipment",), "no operating sequence", "`sequence`: its steps and what each shows")
    for i, step in enumerate(sequence):
        if not step.shows:
            yield Remark(
                ("equipment", "sequence", i), f"the step {step.id!r} that shows nothing",
                "`shows`: the signals that can be seen in it",
            )


RULE = LintRule(
    code="step-shows-nothing",
    says="A step of the operating sequence without `shows`, or no sequence at all.",
    why=(
        "The sequence is how a technician finds the step that fails; a step tied to no signal helps nobody find "
        "anything."
    ),
    wrong="""
equipment: {sequence: [{id: fill, title: Fill, happens: The urn is filled.}]}
""",
    right="""
equipment: {sequence: [{id: fill, title: Fill, happens: The urn is filled., shows: {water: present}}]}
""",
    look=_look,
)
