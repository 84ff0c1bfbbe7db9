"""Calls in a thousand that are far from a thousand."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject

LEAST, MOST = 800, 1200


def _look(subject: Subject) -> Iterator[Remark]:
    e = subject.equipment
    unusual = 1000 * (e.nothing_wrong + e.unlisted)
    total = sum(m.calls_per_thousand for m in e.modes.values()) + unusual
    if not LEAST <= total <= MOST:
        yield Remark(("components",), f"{total:.0f} calls in a thousand, {unusual:.0f} of them without a listed cause",
                     f"{LEAST} to {MOST}")


RULE = LintRule(
    code="rates-sum",
    says=(
        "Calls per thousand that do not add up to a thousand, give or take a fifth, with those where nothing is "
        "wrong or the cause is unlisted."
    ),
    why=(
        "The figures are shares of the calls; if the sum is far off they were written in other terms, or much is "
        "missing."
    ),
    wrong="""
components:
  socket: {failure_modes: {off: {calls_per_thousand: 100}}}
  reservoir: {failure_modes: {empty: {calls_per_thousand: 100}}}
  draw_tap: {failure_modes: {drips: {calls_per_thousand: 100}}}
  cutout: {failure_modes: {tripped: {calls_per_thousand: 100}}}
  thermostat: {failure_modes: {stuck_open: {calls_per_thousand: 85}, drops_out: {calls_per_thousand: 45}}}
  element: {failure_modes: {burnt_out: {calls_per_thousand: 75}, scaled: {calls_per_thousand: 90}}}
""",
    right="""
components: {draw_tap: {failure_modes: {drips: {calls_per_thousand: 120}}}}
""",
    look=_look,
)
