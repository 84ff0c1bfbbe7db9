"""Hazards that no job has."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.places import jobs
from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject


def _look(subject: Subject) -> Iterator[Remark]:
    used = {hazard for job in jobs(subject.equipment) for hazard in job.hazards}
    for name in subject.equipment.hazards:
        if name not in used:
            yield Remark(
                ("hazards", name), "a hazard that no work has", "its name in `hazards` of the work that has it"
            )


RULE = LintRule(
    code="hazard-unused",
    says="A hazard that no test and no remedy names.",
    why="The work that it belongs to is then offered without its precautions.",
    wrong="""
hazards: {steam: {title: Steam, precautions: ["Stand clear of the lid, as the site's rules say."]}}
""",
    right="""
hazards: {steam: {title: Steam, precautions: ["Stand clear of the lid, as the site's rules say."]}}
remedies: {descale: {hazards: [hot_water, steam]}}
""",
    look=_look,
)
