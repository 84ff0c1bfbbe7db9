"""Work with a hazard, a licence or an open guard for somebody on site."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.places import jobs, of_job
from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject


def _look(subject: Subject) -> Iterator[Remark]:
    for job in jobs(subject.equipment):
        if job.role != "site_contact":
            continue
        if job.hazards:
            reason = f"the hazard {job.hazards[0]}"
        elif job.licence:
            reason = f"the licence {job.licence}"
        elif subject.open_guards(job) or subject.locked_out(job):
            reason = "the unit locked out or a guard off"
        else:
            continue
        yield Remark(of_job(job), f"work for a site contact with {reason}", "`role: technician`, or work without it")


RULE = LintRule(
    code="site-contact-hazard",
    says="Work for a site contact that has a hazard, asks for a licence, or opens the unit.",
    why="Whoever answers the phone on site is no technician; they look, listen and set what a user may set.",
    wrong="""
tests: {look_water: {hazards: [hot_water]}}
""",
    right="""
tests: {look_water: {hazards: [hot_water], role: technician}}
""",
    look=_look,
)
