"""How long kits take: a case's, a large one, a van's day. Milliseconds: the median and the slowest of some."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from random import Random
from statistics import median
from time import perf_counter

from graph.belief import Belief, believe
from graph.compile import CompiledModel
from graph.context import Economics
from graph.evidence import Finding
from graph.kit.choose import choose
from graph.kit.plan import KitWanted, exact_kit
from graph.kit.problem import IndexedNeed, KitProblem, problem_of
from graph.kit.stock import Aim, Item, Room, Terms
from graph.kit.van import van_load
from graph.policy.ranking import rank_tests
from tests.bench.decisions import ASKER, Pace

PARTS, HYPOTHESES = 500, 5000
JOBS = 8


def large(seed: int, aim: Aim, limits: tuple[tuple[Room, float], ...]) -> KitProblem:
    """500 parts, 5,000 hypotheses of unlike chances that want one to three parts, some with alternatives."""
    dice = Random(seed)
    items = [
        Item(f"part_{i}", str(i), f"part {i}", round(dice.lognormvariate(3.3, 1), 2), dice.uniform(0.1, 5),
             dice.uniform(0.1, 5))
        for i in range(PARTS)
    ]
    weights = [dice.paretovariate(1.1) for _ in range(HYPOTHESES)]

    def need() -> IndexedNeed:
        parts = dice.sample(range(PARTS), dice.choice([1, 1, 1, 1, 2, 2, 3]))
        way = tuple(
            ((i,), 1) if dice.random() < 0.9 else ((i, (i + 1) % PARTS), dice.choice([1, 2])) for i in parts
        )
        return (way,) if dice.random() < 0.9 else (way, (((dice.randrange(PARTS),), 1),))

    return problem_of(items, [(0.97 * w / sum(weights), (need(),)) for w in weights], Terms(aim, limits=limits))


def beliefs(model: CompiledModel) -> list[Belief]:
    """What is believed after each symptom that callers name."""
    return [believe(model, [Finding(name, (("present", 1),))]) for name in model.equipment.symptoms]


def _pace(calls: list[Callable[[], object]]) -> Pace:
    times = []
    for call in calls:
        call()
        three = []
        for _ in range(3):
            before = perf_counter()
            call()
            three.append(1000 * (perf_counter() - before))
        times.append(median(three))  # a collection of the whole benchmark's memory is no part of one call
    return Pace(median(times), max(times))


def kit_paces(model: CompiledModel) -> Iterator[tuple[str, Pace, float | None]]:
    """What was measured, how long it takes, and the most it may take."""
    known = beliefs(model)
    ranked = [(belief, rank_tests(belief, ASKER, Economics(), ())) for belief in known]
    usual = KitWanted(Terms.of(Economics()))
    for what, wanted, most in (
        ("kit of a case", usual, 30.0),
        ("with three questions", replace(usual, questions=3), None),
        ("with the minutes", replace(usual, minutes=True), None),
        ("with the frontier", replace(usual, frontier=True), None),
    ):
        some = ranked if most else ranked[::6]
        yield what, _pace([lambda b=b, r=r, w=wanted: exact_kit(b, r, w) for b, r in some]), most  # type: ignore[misc]
    cases: tuple[tuple[str, Aim, tuple[tuple[Room, float], ...]], ...] = (
        ("money", "money", ()), ("chance in a budget", "chance", (("budget", 500.0),)),
        ("chance in budget and room", "chance", (("budget", 500.0), ("volume_litres", 40.0))),
    )
    for what, aim, limits in cases:
        problems = [large(seed, aim, limits) for seed in range(4)]
        yield f"500 x 5,000, {what}", _pace([lambda p=p: choose(p) for p in problems]), 2000.0  # type: ignore[misc]
    days = [(known * 2)[first: first + JOBS] for first in range(0, 4 * JOBS, JOBS)]
    terms = Terms("chance", limits=(("budget", 400.0),))
    for what, day_terms in (("money", Terms()), ("chance in a budget", terms)):
        yield (f"van of {JOBS} jobs, {what}",
               _pace([lambda d=d, t=day_terms: van_load(d, ASKER, t) for d in days]), 3000.0)  # type: ignore[misc]
