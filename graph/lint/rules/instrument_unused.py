"""Instruments that no work uses."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.places import jobs
from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject


def _look(subject: Subject) -> Iterator[Remark]:
    used = {instrument for job in jobs(subject.equipment) for instrument in job.instruments}
    for name in subject.equipment.instruments:
        if name not in used:
            yield Remark(
                ("instruments", name), "an instrument that no work uses", "its name in `instruments` of the work"
            )


RULE = LintRule(
    code="instrument-unused",
    says="An instrument that no test and no remedy uses.",
    why="It is asked of whoever goes, and nobody needs it; or the work that needs it forgot to say so.",
    wrong="""
instruments: {thermometer: Thermometer}
""",
    right="""
instruments: {thermometer: Thermometer}
tests: {watch_thermostat: {instruments: [thermometer]}}
""",
    look=_look,
)
