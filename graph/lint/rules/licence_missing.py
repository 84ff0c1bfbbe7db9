"""Work that wants a licence and asks for none."""

from __future__ import annotations

import re
from collections.abc import Iterator

from graph.lint.places import jobs, of_job
from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject

_HAZARDS = (
    (re.compile(r"refrigerant|propane|isobutane|ammonia", re.IGNORECASE), "refrigeration"),
    (re.compile(r"(natural|fuel|burner|town|unburnt) gas|gas (supply|train|leak|escape)|LPG", re.IGNORECASE), "gas"),
)


def _look(subject: Subject) -> Iterator[Remark]:
    for job in jobs(subject.equipment):
        if job.licence is not None:
            continue
        hazards = [subject.equipment.hazards[h] for h in job.hazards]
        wanted = next(((h.title, kind) for h in hazards for mark, kind in _HAZARDS if mark.search(h.title)), None)
        if wanted is not None:
            yield Remark(of_job(job), f"work with the hazard {wanted[0]!r} and no licence", f"`licence: {wanted[1]}`")
        elif job.instruments and subject.open_guards(job) and not subject.locked_out(job):
            yield Remark(of_job(job), "live work behind an open guard and no licence", "`licence: electrical`")


RULE = LintRule(
    code="licence-missing",
    says="Work on a refrigerant or gas circuit, or live measuring behind an open guard, that asks for no licence.",
    why="The answer would offer it to people who must not do it.",
    wrong="""
tests: {element_volts: {licence: null}}
""",
    right="""
tests: {element_volts: {licence: electrical}}
""",
    look=_look,
)
