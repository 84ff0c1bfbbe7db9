"""Work behind an open guard without a hazard."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.places import jobs, of_job
from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject


def _look(subject: Subject) -> Iterator[Remark]:
    for job in jobs(subject.equipment):
        guards = subject.open_guards(job)
        if guards and not job.hazards:
            yield Remark(
                of_job(job), f"work with {guards[0]} open and no hazard", "`hazards`: what the guard keeps people from"
            )


RULE = LintRule(
    code="guard-open-without-hazard",
    says="Work with a guard off that names no hazard.",
    why="A guard keeps people from live parts; whoever works behind it must be told of them, locked out or not.",
    wrong="""
tests: {element_ohms: {hazards: []}}
""",
    right="""
tests: {element_ohms: {hazards: [mains_voltage]}}
""",
    look=_look,
)
