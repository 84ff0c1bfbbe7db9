"""Failure modes that no test tells apart although they want different repairs."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from graph.errors import listed
from graph.lint.places import of_mode
from graph.lint.rule import LintRule, Remark
from graph.lint.subject import SEEN, Subject


def _look(subject: Subject) -> Iterator[Remark]:
    modes = subject.model.hypotheses.modes
    tests = [subject.looks[t] for t in subject.equipment.tests if t in subject.looks]
    usual = [subject.equipment.modes[m].remedies[0] for m in modes]
    apart = np.zeros((len(modes), len(modes)), dtype=bool)
    met = np.zeros_like(apart)
    for scene in np.unique(subject.scene):
        here = np.flatnonzero((subject.scene == scene) & (subject.mode >= 0))
        numbers = subject.mode[here]
        met[np.ix_(numbers, numbers)] = True
        for chances in tests:
            kinds, kind = np.unique(chances[here].round(6), axis=0, return_inverse=True)
            far = 0.5 * np.abs(kinds[:, None] - kinds[None]).sum(axis=2) >= SEEN
            apart[np.ix_(numbers, numbers)] |= far[np.ix_(kind.reshape(-1), kind.reshape(-1))]
    for i, mode in enumerate(modes):
        others = [j for j in range(len(modes)) if met[i, j] and not apart[i, j] and usual[j] != usual[i]]
        if others and min(others) > i:
            names = listed([modes[j] for j in others])
            yield Remark(
                of_mode(mode), f"a failure mode that no test tells from {names}, which want another repair",
                "a test that tells them apart, or the same remedy for all",
            )


RULE = LintRule(
    code="modes-alike",
    says="Failure modes with different usual remedies that no test tells apart.",
    why="The technician can only try one repair after the other; somebody knows a look or a measurement that decides.",
    wrong="""
tests:
  feel_cutout: null
  watch_thermostat:
    title: Watch the volts at the element through some cycles
    reveals: element_supply
    outcomes: {opens: {states: [absent]}}
""",
    right="""
tests:
  watch_thermostat:
    title: Watch the volts at the element through some cycles
    reveals: element_supply
    outcomes: {opens: {states: [absent]}}
""",
    look=_look,
)
