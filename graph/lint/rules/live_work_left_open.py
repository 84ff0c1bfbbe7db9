"""Live work after which the unit is not closed up."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.places import jobs, of_job
from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject


def _look(subject: Subject) -> Iterator[Remark]:
    units = subject.equipment.unit_states
    lockouts = [u for u in units.values() if u.lockout is not None and u.minutes.get(u.lockout)]
    for job in jobs(subject.equipment):
        for name in subject.open_guards(job) if not subject.locked_out(job) else ():
            unit = units[name]
            if not unit.minutes.get(unit.usual):
                yield Remark(of_job(job), f"live work behind {name}, which no minutes close again",
                             f"`minutes: {{{unit.usual}: …}}` in unit_states/{name}")
            elif not lockouts:
                yield Remark(of_job(job), f"live work behind {name} on a unit that is never locked out",
                             "a unit state for the supply with `lockout` and the minutes that it takes")


RULE = LintRule(
    code="live-work-left-open",
    says=(
        "Live work behind an open guard on a unit whose guard has no time to go back on, or whose supply can't be "
        "locked out."
    ),
    why=(
        "The order of work is to lock out, open, restore for the measurement, lock out again and close; what is "
        "not written is not planned."
    ),
    wrong="""
unit_states: {cover: {minutes: {"on": null}}}
""",
    right="""
unit_states: {cover: {minutes: {"on": 4}}}
""",
    look=_look,
)
