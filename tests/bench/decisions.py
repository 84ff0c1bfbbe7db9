"""How long a decision takes in the middle of a case: visits are played, and every place in them is asked again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from statistics import median

from graph.advice import advise
from graph.belief import believe
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.evidence import Finding
from graph.policy.calls import draw_calls, outcome, play
from graph.policy.contenders import ours
from graph.policy.decision import Decision, decide
from graph.policy.ranking import rank_remedies, rank_tests
from graph.policy.worktable import situation
from tests.bench.timing import timed

VISITS = 12
ASKER = Asker(licences=frozenset({"electrical", "refrigeration"}))


@dataclass(frozen=True)
class Pace:
    """Milliseconds at the median place of a visit and at the slowest."""

    usual: float
    worst: float


def places(model: CompiledModel) -> list[tuple[Finding, ...]]:
    """What was found at every step of some visits, from the second to the first repair."""
    found: list[tuple[Finding, ...]] = []
    for call in draw_calls(model, VISITS, seed=7):
        findings = list(call.said)
        for name in play(model, call, ours(0), ASKER, Economics()).jobs:
            said = outcome(model, name, call.row, float(call.luck[model.by_id[name]])) if name in model.by_id else None
            if said is None:
                break
            findings.append(Finding(name, ((said, 1),)))
            found.append(tuple(findings))
    return found


def decision(model: CompiledModel, findings: tuple[Finding, ...], budget: float) -> Decision:
    """From findings to what to do next, nothing put into words."""
    now, lost = situation(model, findings, ASKER)
    belief = believe(model, findings)
    ranking = rank_tests(belief, now, Economics(), lost)
    return decide(belief, ranking, [r for r in rank_remedies(belief, ranking) if not r.missing], budget)


def paces(model: CompiledModel, budget: float) -> dict[str, Pace]:
    """The pace of decisions, and of the whole advice around them, with one planning budget."""
    asked: dict[str, Callable[[tuple[Finding, ...]], object]] = {
        "decision": lambda findings: decision(model, findings, budget),
        "whole advice": lambda findings: advise(model, findings, asker=ASKER, budget=budget),
    }
    found = {}
    for name, ask in asked.items():
        times = [timed(partial(ask, findings), seconds=0.3, most=20) for findings in places(model)]
        found[name] = Pace(median(times), max(times))
    return found
