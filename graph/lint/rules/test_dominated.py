"""Tests that another one does as well in every respect."""

from __future__ import annotations

from collections.abc import Iterator

from graph.equipment import Observation
from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject


def _look(subject: Subject) -> Iterator[Remark]:
    rivals: dict[str, list[Observation]] = {}
    for test in subject.equipment.tests.values():
        rivals.setdefault(test.reveals, []).append(test)
    for tests in rivals.values():
        for i, test in enumerate(tests):
            better = [
                other for j, other in enumerate(tests)
                if j != i and _serves(other, test) and not (j > i and _serves(test, other))
            ]
            if better:
                yield Remark(
                    ("tests", test.id), f"a test that {better[0].id} does as well for no more",
                    "what it tells beyond that: other states, greater certainty, a reading; or no such test",
                )


def _serves(a: Observation, b: Observation) -> bool:
    """Whether test `a` tells at least as much as `b` and asks for nothing more."""
    return _no_dearer(a, b) and _tells_as_much(a, b)


def _no_dearer(a: Observation, b: Observation) -> bool:
    """Whether test `a` asks for nothing that `b` does not."""
    return (
        a.minutes <= b.minutes and a.materials <= b.materials and a.repeats <= b.repeats
        and (a.role == "site_contact" or b.role == a.role) and a.licence in (None, b.licence)
        and set(a.instruments) <= set(b.instruments) and set(a.hazards) <= set(b.hazards)
        and set(a.needs) <= set(b.needs) and set(a.disturbs) <= set(b.disturbs)
        and set(a.only_if) <= set(b.only_if)
    )


def _tells_as_much(a: Observation, b: Observation) -> bool:
    """Whether `a` has an outcome for each that `b` has, with the same states or fewer, and is no less sure."""
    if b.reading is not None or b.repeats > a.repeats:
        return False
    if b.sees_intermittent and not a.sees_intermittent:
        return False
    coarser: dict[int, int] = {}
    for mine, theirs in zip(a.chances, b.chances, strict=True):
        if max(mine) < max(theirs):
            return False
        if coarser.setdefault(mine.index(max(mine)), theirs.index(max(theirs))) != theirs.index(max(theirs)):
            return False
    return True


RULE = LintRule(
    code="test-dominated",
    says="A test that tells no more than another one which asks for no more time, skill, instruments or risk.",
    why="It is never the better choice; either the dearer one tells more than its entry says, or one of them can go.",
    wrong="""
tests:
  look_again:
    title: Look at the plug once more
    reveals: socket
    minutes: 3
    needs: {power: any}
    outcomes: {on: [sound], off: ["off"]}
""",
    right="""
tests:
  lead_ohms:
    title: Measure the lead from pin to pin
    reveals: socket
    minutes: 3
    right_in_100: 99.5
    instruments: [multimeter]
    needs: {power: isolated}
    outcomes: {whole: [sound], open: ["off"]}
""",
    look=_look,
)
