"""All rules over one document, and the entries that its author has accepted with a reason."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from graph.compile import CompiledModel
from graph.equipment import Acceptance
from graph.errors import Defect, listed, nearest_name
from graph.lint.rule import LintRule, Remark
from graph.lint.rules import RULES
from graph.lint.subject import Subject


@dataclass(frozen=True, slots=True)
class Linted:
    """What the rules have to say, in the order of the rules, and what was accepted: the remark and the reason."""

    remarks: tuple[Defect, ...]
    accepted: tuple[tuple[Defect, Acceptance], ...]


def lint(model: CompiledModel) -> Linted:
    """Every remark on a document that compiles. An acceptance silences the remarks at its place and below it.

    An acceptance that silences nothing, or names a rule that there is none of, is itself remarked on.
    """
    subject = Subject(model)
    found = _sorted_out(subject)
    unused = [Defect(ACCEPTANCE_UNUSED.code, *remark) for remark in _unused(subject, found)]
    return Linted(
        (*(defect for defect, acceptance in found if acceptance is None), *unused),
        tuple((defect, acceptance) for defect, acceptance in found if acceptance is not None),
    )


def _sorted_out(subject: Subject) -> list[tuple[Defect, Acceptance | None]]:
    """What each rule found, with what accepts it."""
    accepted = subject.equipment.accepted
    defects = [Defect(rule.code, *remark) for rule in RULES for remark in rule.look(subject)]
    return [(d, next((a for a in accepted if _covers(a, d)), None)) for d in defects]


def _covers(acceptance: Acceptance, defect: Defect) -> bool:
    return acceptance.code == defect.code and f"{defect.pointer}/".startswith(f"{acceptance.where.rstrip('/')}/")


def _unused(subject: Subject, found: list[tuple[Defect, Acceptance | None]]) -> Iterator[Remark]:
    codes = [rule.code for rule in RULES]
    used = {id(acceptance) for _, acceptance in found}
    for i, acceptance in enumerate(subject.equipment.accepted):
        if acceptance.code not in codes:
            nearest = nearest_name(acceptance.code, codes)
            hint = f"{nearest!r}, or " if nearest else ""
            yield Remark(
                ("accepted", i, "code"), f"{acceptance.code!r}, which is no rule", f"{hint}one of: {listed(codes, 50)}"
            )
        elif id(acceptance) not in used:
            yield Remark(
                ("accepted", i), f"{acceptance.code} accepted at {acceptance.where}, where nothing reports it",
                "no acceptance, or the place where it is reported",
            )


ACCEPTANCE_UNUSED = LintRule(
    code="acceptance-unused",
    says="An entry of `accepted` that silences nothing, or that names no rule.",
    why="What was odd has been mended or has moved; the next odd entry at that place would be silenced unseen.",
    wrong="""
accepted: [{code: remedy-unverified, where: /remedies/descale, reason: The crust is seen to be gone while descaling.}]
""",
    right="""
remedies: {descale: {verify: null}}
accepted: [{code: remedy-unverified, where: /remedies/descale, reason: The crust is seen to be gone while descaling.}]
""",
    look=lambda subject: _unused(subject, _sorted_out(subject)),
)
ALL_RULES: tuple[LintRule, ...] = (*RULES, ACCEPTANCE_UNUSED)
