"""How long an advice takes in the middle of a case: visits are played, and every place in them is asked again."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from statistics import median

from graph.advice import advise
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.evidence import Finding
from graph.policy.calls import draw_calls, outcome, play
from graph.policy.contenders import ours
from tests.bench.timing import timed

VISITS = 12
ASKER = Asker(licences=frozenset({"electrical", "refrigeration"}))


@dataclass(frozen=True)
class Pace:
    """Milliseconds of a whole advice: the median place of a visit and the slowest."""

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


def paces(model: CompiledModel, budget: float) -> Pace:
    """The pace of advice with one planning budget."""
    times = [
        timed(partial(advise, model, findings, asker=ASKER, budget=budget), seconds=0.3, most=20)
        for findings in places(model)
    ]
    return Pace(median(times), max(times))
