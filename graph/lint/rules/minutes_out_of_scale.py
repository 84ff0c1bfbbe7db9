"""Minutes that nobody needs, or that nobody can keep."""

from __future__ import annotations

from collections.abc import Iterator

from graph.equipment import Observation, Remedy
from graph.lint.places import jobs, of_job
from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject

TEST, REPAIR, CIRCUIT, QUESTION = 90, 300, 30, 10
"""Minutes: common practice, no source."""


def _look(subject: Subject) -> Iterator[Remark]:
    for symptom in subject.equipment.symptoms.values():
        if symptom.minutes > QUESTION:
            yield Remark(
                (*of_job(symptom), "minutes"), f"a question of {symptom.minutes:g} minutes", f"at most {QUESTION}"
            )
    for job in jobs(subject.equipment):
        most = TEST if isinstance(job, Observation) else REPAIR
        if job.minutes <= 0 or job.minutes > most:
            yield Remark((*of_job(job), "minutes"), f"{job.minutes:g} minutes", f"more than 0, at most {most}")
        elif isinstance(job, Remedy) and job.parts and job.licence == "refrigeration" and job.minutes < CIRCUIT:
            yield Remark((*of_job(job), "minutes"), f"a part of the circuit in {job.minutes:g} minutes",
                         f"at least {CIRCUIT}: recover, braze, test, evacuate, charge")


RULE = LintRule(
    code="minutes-out-of-scale",
    says=(
        "Work of no minutes, a test of more than 90, a repair of more than 300, a circuit opened and closed in "
        "under 30."
    ),
    why="Minutes decide what comes first; an hour written for a minute sends a useful check to the end of the visit.",
    wrong="""
remedies: {descale: {minutes: 450}}
""",
    right="""
remedies: {descale: {minutes: 60}}
""",
    look=_look,
)
