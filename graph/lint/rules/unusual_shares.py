"""Odd shares of calls without fault, without a listed cause, with two faults."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject


def _look(subject: Subject) -> Iterator[Remark]:
    e = subject.equipment
    for name, share, least, most in (
        ("nothing_wrong_in_100", e.nothing_wrong, 0.005, 0.10),
        ("unlisted_in_100", e.unlisted, 0.0, 0.08),
        ("two_faults_in_100", e.coincidence, 0.0, 0.10),
    ):
        if not least <= share <= most:
            yield Remark(("equipment", name), f"{100 * share:g}", f"{100 * least:g} to {100 * most:g}")


RULE = LintRule(
    code="unusual-shares",
    says=(
        "A share of calls with nothing wrong above 10 in 100 or of none, of unlisted causes above 8, of two faults "
        "at once above 10."
    ),
    why=(
        "Some calls are misunderstandings, on every machine; and where much is unlisted or coincides, causes are "
        "missing."
    ),
    wrong="""
equipment: {nothing_wrong_in_100: 0}
""",
    right="""
equipment: {nothing_wrong_in_100: 5}
""",
    look=_look,
)
