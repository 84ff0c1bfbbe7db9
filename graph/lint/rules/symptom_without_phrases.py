"""Symptoms without callers' words."""

from __future__ import annotations

from collections.abc import Iterator

from graph.lint.rule import LintRule, Remark
from graph.lint.subject import Subject

FEWEST = 2


def _look(subject: Subject) -> Iterator[Remark]:
    for name, symptom in subject.equipment.symptoms.items():
        if len(symptom.phrases) < FEWEST:
            yield Remark(
                ("symptoms", name), f"{len(symptom.phrases)} phrases of callers", f"{FEWEST} or more in `phrases`"
            )
        if not symptom.how:
            yield Remark(("symptoms", name), "no question to ask", "`question`: what to ask the caller")


RULE = LintRule(
    code="symptom-without-phrases",
    says="A symptom with fewer than two phrases, or without a question to ask.",
    why="Phrases are how a caller's words are recognised, and the question is how the desk makes sure.",
    wrong="""
symptoms: {slow: {phrases: []}}
""",
    right="""
symptoms: {slow: {phrases: [It takes for ever., Boils too late., We wait and wait.]}}
""",
    look=_look,
)
