"""Numbers in how-to text without a unit."""

from __future__ import annotations

import re
from collections.abc import Iterator

from graph.equipment import Observation
from graph.lint.places import jobs, of_job
from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject

_BARE = re.compile(
    r"(?<![\w.,/:-])[-+]?(?!0\b(?![.,]\d))\d+(?:[.,]\d+)?"
    r"(?=\s*(?:[.;,:)!?]+(?:\s|$)|$|\s(?:and|or|but|then|with|is|to the)\b(?!\s[-+]?\d)))"
)
_UNITLESS = re.compile(
    r"dial|setting|set to|position|marked|mark|letter|step|count|blink|code|program|page|lamp|number|level|scale|size|"
    r"stage|pH|factor|ratio|times|class|menu|display|parameter|\bto\s[-+]?\d|between", re.IGNORECASE,
)
_DIAL = re.compile(r"dial|setting|blink|count|code", re.IGNORECASE)


def _look(subject: Subject) -> Iterator[Remark]:
    for job in jobs(subject.equipment):
        if _DIAL.search(job.title):
            continue
        said = [((*of_job(job), "how", i), text) for i, text in enumerate(job.how)]
        if isinstance(job, Observation):
            said += [((*of_job(job), "outcomes", o.id), o.title) for o in job.outcomes]
        for path, text in said:
            for sentence in re.split(r"(?<=[.;!?])\s", text):
                bare = _BARE.search(sentence)
                if bare is not None and not _UNITLESS.search(sentence[: bare.start()].rsplit(",", 1)[-1]):
                    yield Remark(path, f"{bare.group()!r} without a unit in {sentence!r}", "a unit, or what is counted")
                    break


RULE = LintRule(
    code="number-without-unit",
    says="A number in a step or an outcome that ends without a unit or a thing counted.",
    why="12 what? In the wrong unit a good reading condemns a good part.",
    wrong="""
tests: {element_ohms: {how: ["Meter on ohms; it should read 24 to 29."]}}
""",
    right="""
tests: {element_ohms: {how: ["Meter on ohms; it should read 24 to 29 Ω, and the dial stands at 5."]}}
""",
    look=_look,
)
