"""What the desk knows when somebody is sent: the caller's first words and the answers to what is asked next."""

from __future__ import annotations

from graph.belief import believe
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.evidence import Finding
from graph.policy.calls import Call, outcome
from graph.policy.ranking import rank_tests

ASKED = 2
"""Questions that the desk asks after the caller's first words."""


class Desk:
    """A support desk that asks what the graph proposes; it thinks once of what it has heard before."""

    def __init__(self, model: CompiledModel, economics: Economics) -> None:
        self.model, self.economics = model, economics
        self.questions: dict[tuple[Finding, ...], str | None] = {}

    def findings(self, call: Call) -> tuple[Finding, ...]:
        """The caller's first words and the answers to what is asked next."""
        findings = call.said
        for _ in range(ASKED):
            if findings not in self.questions:
                ranking = rank_tests(believe(self.model, findings), Asker(role="site_contact"), self.economics, ())
                asked = [n for n in ranking.open() if n in self.model.equipment.symptoms]
                self.questions[findings] = asked[0] if asked else None
            name = self.questions[findings]
            said = None if name is None else outcome(
                self.model, name, call.row, float(call.luck[self.model.by_id[name]])
            )
            if name is not None and said is not None:
                findings = (*findings, Finding(name, ((said, 1),)))
        return findings
