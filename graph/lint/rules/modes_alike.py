"""Failure modes that no test tells apart although they want different repairs."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from scipy.sparse.csgraph import connected_components

from graph.errors import listed
from graph.hypotheses import Floats, Ints
from graph.lint.places import of_mode
from graph.lint.rule import LintRule, Remark
from graph.lint.subject import SEEN, Subject


def _look(subject: Subject) -> Iterator[Remark]:
    modes = subject.model.hypotheses.modes
    tests = [subject.looks[t] for t in subject.equipment.tests if t in subject.looks]
    usual = [subject.equipment.modes[m].remedies[0] for m in modes]
    told: set[tuple[int, ...]] = set()
    for scene in np.unique(subject.scene):
        here = np.flatnonzero((subject.scene == scene) & (subject.mode >= 0))
        group = np.zeros(len(here), dtype=np.int64)
        for chances in tests:
            group = np.unique(np.stack([group, _kinds(chances[here])]), axis=1, return_inverse=True)[1].reshape(-1)
        order = np.argsort(group, kind="stable")
        for members in np.split(subject.mode[here][order], np.flatnonzero(np.diff(group[order])) + 1):
            first, *others = sorted(members.tolist())
            others = [j for j in others if usual[j] != usual[first]]
            if others and (first, *others) not in told:
                told.add((first, *others))
                names = listed([modes[j] for j in others])
                yield Remark(
                    of_mode(modes[first]), f"a failure mode that no test tells from {names} (another repair)",
                    "a test that tells them apart, or the same remedy for all",
                )


def _kinds(chances: Floats) -> Ints:
    """Which rows of a test's chances (R x O) are the same, or join through others that are nearly so (R)."""
    kinds, kind = np.unique(chances.round(6), axis=0, return_inverse=True)
    near = 0.5 * np.abs(kinds[:, None] - kinds[None]).sum(axis=2) < SEEN
    joined = connected_components(near, directed=False)[1]
    return np.asarray(joined[kind.reshape(-1)], dtype=np.int64)


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
