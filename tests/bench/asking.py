"""How long a caller waits for the next question. Milliseconds: the median and the slowest."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from graph.compile import CompiledModel
from graph.conversation.asking import next_turn
from graph.evidence import Finding
from tests.bench.decisions import Pace
from tests.bench.timing import timed

LATER = 2
"""Answers after which a caller is asked again; each is the likeliest."""


def conversations(model: CompiledModel) -> Iterator[list[tuple[Finding, ...]]]:
    """What is known whenever something is asked, for every symptom that callers name."""
    for name in model.equipment.symptoms:
        findings: tuple[Finding, ...] = (Finding(name, (("present", 1),)),)
        known: list[tuple[Finding, ...]] = []
        while len(known) <= LATER and (question := next_turn(model, findings).question) is not None:
            known.append(findings)
            likeliest = max(question.answers, key=lambda answer: answer.chance)
            findings = (*findings, Finding(question.about, ((likeliest.outcome, 1),)))
        if known:
            yield known


def question_paces(model: CompiledModel) -> Iterator[tuple[str, Pace]]:
    """The pace of the first question, and of the two after it."""
    first, later = [], []
    for known in conversations(model):
        first.append(timed(partial(next_turn, model, known[0]), seconds=0.1))
        later += [timed(partial(next_turn, model, findings), seconds=0.1) for findings in known[1:]]
    for what, times in (("first question", first), ("question after an answer", later)):
        yield what, Pace(sorted(times)[len(times) // 2], max(times))
