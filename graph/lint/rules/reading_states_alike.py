"""Readings whose states read alike."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject
from graph.readings.cuts import cut

APART = 0.5
"""Least total variation distance between the numbers of two states that lead to different outcomes."""


def _look(subject: Subject) -> Iterator[Remark]:
    for name, test in subject.equipment.tests.items():
        if test.reading is None:
            continue
        states = subject.equipment.states_of(test.reveals)
        cells = cut(test.reading)
        hit = [row.index(max(row)) for row in test.chances]
        known = [i for i, expected in enumerate(test.reading.expected) if expected is not None]
        for i, j in combinations(known, 2):
            apart = 0.5 * float(np.abs(cells[i] - cells[j]).sum())
            if hit[i] != hit[j] and apart < APART:
                yield Remark(
                    ("tests", name, "reading", "expected"),
                    f"{states[i]} and {states[j]}, which read the same in {100 * (1 - apart):.0f} of 100 cases",
                    "numbers that tell them apart, or one outcome for both",
                )


RULE = LintRule(
    code="reading-states-alike",
    says="Two states of a reading that lead to different outcomes and expect nearly the same numbers.",
    why="The number cannot tell what the outcomes claim to tell; a band is a slip, or the test needs another quantity.",
    wrong="""
tests: {element_ohms: {reading: {expected: {burnt_out: {low: 23, high: 30}}}}}
""",
    right="""
tests: {element_ohms: {reading: {expected: {burnt_out: {low: 1000}}}}}
""",
    look=_look,
)
