"""Steps of the operating sequence that the signals' rules contradict."""

from __future__ import annotations

from collections.abc import Iterator

from graph.errors import listed
from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject


def _look(subject: Subject) -> Iterator[Remark]:
    equipment, model = subject.equipment, subject.model
    sound = model.lone_states[:, -1]
    for i, step in enumerate(equipment.sequence):
        for name, state in step.shows:
            signal = equipment.signals[name]
            usual = {signal.states[s] for s in sound[:, model.signal_names.index(name)].tolist()}
            if state not in usual:
                yield Remark(
                    ("equipment", "sequence", i, "shows", name),
                    f"{name} {state} in {step.id!r}, but {listed(sorted(usual))} on a sound unit",
                    "the state that the rules give when nothing is wrong",
                )


RULE = LintRule(
    code="step-contradicted",
    says="A step shows a state of a signal that the signal does not have on a sound unit.",
    why="The operating sequence and the rules describe the same machine; where they differ one of them is wrong.",
    wrong="""
equipment: {sequence: [{id: heat, title: Heat, happens: The element heats., shows: {heat: weak}}]}
""",
    right="""
equipment: {sequence: [{id: heat, title: Heat, happens: The element heats., shows: {heat: full}}]}
""",
    look=_look,
)
