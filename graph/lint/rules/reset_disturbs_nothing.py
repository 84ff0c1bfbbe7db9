"""Work that resets, drains or thaws and disturbs nothing."""

from __future__ import annotations

import re
from collections.abc import Iterator

from graph.lint.places import jobs, of_job
from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject

_RESETS = re.compile(
    r"\b(power.cycl\w*|switch(ed)? (it |the \w+ )?off and on|reset (?!.{0,20}button)\w+|reset\b(?= once)"
    r"|(clear|cancel|acknowledge|wipe) the (\w+ )?(alarm|fault|code|error|count|log|history)s?"
    r"|drain (the|it|below|down|out|first)|drain,|defrost(ed|s)? (it|the|by)|thaw\w*|melt the ice"
    r"|empty the (tank|reservoir|bin))",
    re.IGNORECASE,
)
_NOT = re.compile(r"\b(not?|never|without|before|don't)\b[^.;]*$", re.IGNORECASE)


def _look(subject: Subject) -> Iterator[Remark]:
    for job in jobs(subject.equipment):
        if job.disturbs:
            continue
        for words in (job.title, *job.how):
            said = _RESETS.search(words)
            if said is not None and not _NOT.search(words[: said.start()]):
                yield Remark(of_job(job), f"{said.group()!r} in work that disturbs nothing",
                             "`disturbs`: the signals or components that can't be looked at any more afterwards")
                break


RULE = LintRule(
    code="reset-disturbs-nothing",
    says="Work whose words switch off and on, reset, clear, drain, thaw or defrost, without `disturbs`.",
    why="A count, a level, a pattern of ice or a tripped state is gone afterwards; it has to be looked at first.",
    wrong="""
remedies: {press_cutout: {title: Reset the cut-out, disturbs: []}}
""",
    right="""
remedies: {press_cutout: {title: Reset the cut-out, disturbs: [cutout]}}
""",
    look=_look,
)
