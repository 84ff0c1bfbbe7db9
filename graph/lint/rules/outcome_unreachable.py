"""Outcomes of tests that no state of the machine leads to."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject

LIKELY = 0.25
"""An outcome that some state of the machine leads to has at least this chance in it."""


def _look(subject: Subject) -> Iterator[Remark]:
    model = subject.model
    for watch in model.watches:
        test = watch.observation
        if test.kind != "test" or watch.climate is not None:
            continue
        best = watch.chances[model.patterns[watch.column][subject.rows]].max(axis=0, initial=0.0)
        for outcome, chance in zip(test.outcomes, best.tolist(), strict=True):
            if chance < LIKELY:
                yield Remark(
                    ("tests", test.id, "outcomes", outcome.id),
                    f"an outcome that nothing leads to ({chance:.0%} at best)",
                    "a failure mode that brings its state about, or no such outcome",
                )


RULE = LintRule(
    code="outcome-unreachable",
    says="An outcome that comes up by mistake only: nothing that can be wrong leads to it.",
    why=(
        "Whoever sees it records it in good faith, and the answer turns to the unlikely. A failure mode is "
        "missing, or a state."
    ),
    wrong="""
tests: {look_socket: {outcomes: {scorched: {title: Pins scorched, states: otherwise}}}}
""",
    right="""
components: {socket: {failure_modes: {scorched: {title: Pins scorched, calls_per_thousand: 15, remedies: [switch_on]}}}}
signals: {supply: {rules: [{when: {socket: ["off", scorched]}, state: absent}, {state: present}]}}
tests: {look_socket: {outcomes: {scorched: {title: Pins scorched, states: otherwise}}}}
""",
    look=_look,
)
