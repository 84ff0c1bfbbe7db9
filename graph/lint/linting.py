"""All rules over one document, and the entries that its author has accepted with a reason."""

from __future__ import annotations

from dataclasses import dataclass

from graph.compile import CompiledModel
from graph.equipment import Acceptance
from graph.errors import Defect, listed, nearest_name
from graph.lint.rules import RULES
from graph.lint.subject import Subject

UNUSED = "acceptance-unused"


@dataclass(frozen=True, slots=True)
class Linted:
    """What the rules have to say, in the order of the rules, and what was accepted: the remark and the reason."""

    remarks: tuple[Defect, ...]
    accepted: tuple[tuple[Defect, Acceptance], ...]


def lint(model: CompiledModel) -> Linted:
    """Every remark on a document that compiles. An acceptance silences the remarks at its place and below it.

    An acceptance that silences nothing, or names a rule that there is none of, is itself a remark (`UNUSED`).
    """
    subject = Subject(model)
    kept: list[Defect] = []
    silenced: list[tuple[Defect, Acceptance]] = []
    accepted = model.equipment.accepted
    used = [False] * len(accepted)
    for rule in RULES:
        for path, found, mend in rule.look(subject):
            defect = Defect(rule.code, path, found, mend)
            place = next((i for i, a in enumerate(accepted) if _covers(a, defect)), None)
            if place is None:
                kept.append(defect)
            else:
                used[place] = True
                silenced.append((defect, accepted[place]))
    codes = [rule.code for rule in RULES]
    for i, acceptance in enumerate(accepted):
        if acceptance.code not in codes:
            kept.append(Defect(
                UNUSED, ("accepted", i, "code"), f"{acceptance.code!r}, no rule",
                f"one of: {listed(codes, len(codes))}", nearest_name(acceptance.code, codes),
            ))
        elif not used[i]:
            kept.append(Defect(
                UNUSED, ("accepted", i), f"{acceptance.code} accepted at {acceptance.where}, where nothing reports it",
                "the acceptance taken out, or its place put right",
            ))
    return Linted(tuple(kept), tuple(silenced))


def _covers(acceptance: Acceptance, defect: Defect) -> bool:
    return acceptance.code == defect.code and f"{defect.pointer}/".startswith(f"{acceptance.where.rstrip('/')}/")
