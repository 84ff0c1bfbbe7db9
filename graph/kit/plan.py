"""The kit of one case as an answer: chosen exactly, each part explained, and what to ask before driving."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from graph.belief import Belief
from graph.context import Asker
from graph.equipment import Equipment
from graph.errors import UnknownName
from graph.explain import WORTH_NAMING, percent
from graph.kit.answers import Kit, Minutes
from graph.kit.choose import Choice, choose
from graph.kit.frontier import frontier_of
from graph.kit.needs import need_table
from graph.kit.problem import KitProblem, case_problem, problem_of
from graph.kit.questions import questions_of
from graph.kit.stock import Terms, items_of
from graph.kit.worth import left_out_of, lines_of
from graph.policy.duration import duration_of
from graph.policy.ranking import Ranking

LIKELY_WORK = 0.2
"""Chance of a repair from which its instruments are brought."""
LIKELY_TESTS = 10
"""How many of the best tests decide which instruments to bring."""


@dataclass(frozen=True, slots=True)
class KitWanted:
    """What is asked of a kit: the terms, how many questions to work out, whether to draw the frontier and to follow
    the visit for its minutes.
    """

    terms: Terms
    questions: int = 0
    frontier: bool = False
    minutes: bool = False


def kit_problem(belief: Belief, asker: Asker, terms: Terms) -> KitProblem:
    """The choice that one case poses. What the asker has at hand is aboard. Raises UnknownName for parts."""
    parts = belief.model.equipment.parts
    for what, given in (("aboard", terms.aboard), ("stock", terms.stock), ("lead_days", terms.lead_days),
                        ("must_bring", terms.must)):
        for name, _ in given:
            if name not in parts:
                raise UnknownName("part", name, parts, pointer=f"/{what}/{name}")
    if asker.parts is not None:
        aboard = dict(terms.aboard)
        for name, pieces in sorted(asker.parts):
            aboard[name] = max(aboard.get(name, 0), pieces)
        terms = replace(terms, aboard=tuple(aboard.items()))
    table = need_table(belief.model, asker)
    return case_problem(table, table.masses(belief.fault_sets), items_of(belief.model.equipment), terms)


def exact_kit(belief: Belief, ranking: Ranking, wanted: KitWanted, closed: Collection[str] = ()) -> Kit:
    """The best kit, proved; `closed` are questions not to be asked again. Raises KitInfeasible and UnknownName."""
    asker, equipment = ranking.asker, belief.model.equipment
    problem = kit_problem(belief, asker, wanted.terms)
    best = choose(problem)
    needed = belief.marginals_of("parts")
    none, every = problem.chances([
        [0] * len(problem.items), [99 if most > 0 else 0 for most in _unlimited(problem).most],
    ])
    lines = lines_of(problem, best.loaded, needed, equipment)
    table = need_table(belief.model, asker)
    asked = questions_of(belief, table, problem, best, closed, wanted.questions) if wanted.questions else ()
    return Kit(
        lines=lines,
        price=problem.used("budget", best.loaded),
        volume_litres=problem.used("volume_litres", best.loaded),
        weight_kg=problem.used("weight_kg", best.loaded),
        chance_to_finish=best.finished,
        chance_without=none,
        chance_at_most=every,
        cost=best.cost,
        gap=best.gap,
        limits_cost=_limits_cost(problem, best),
        left_out=left_out_of(problem, best.loaded, needed),
        instruments=instruments_of(belief, asker, ranking.order(LIKELY_TESTS)),
        licences=licences_of(belief),
        minutes=_minutes(belief, ranking) if wanted.minutes else None,
        questions=asked,
        frontier=frontier_of(problem) if wanted.frontier else (),
        sentence=sentence_of(equipment, [(line.quantity, line.title) for line in lines],
                             problem.used("budget", best.loaded), best.finished, none),
    )


def _unlimited(problem: KitProblem) -> KitProblem:
    terms = replace(problem.terms, stock=(), limits=())
    return problem_of(problem.items, problem.shares, terms, problem.never)


def _limits_cost(problem: KitProblem, best: Choice) -> float:
    """Money that limits and missing stock cost: nothing where there are none."""
    if not problem.terms.limits and not problem.terms.stock:
        return 0.0
    free = _unlimited(problem)
    return max(0.0, best.cost - choose(replace(free, terms=replace(free.terms, aim="money"))).cost)


def _minutes(belief: Belief, ranking: Ranking) -> Minutes:
    times = duration_of(belief, ranking)
    low, middle, high = (times.within(share) for share in (0.1, 0.5, 0.9))
    return Minutes(
        low, middle, high, times.mean,
        f"Half of such visits take up to {middle:.0f} minutes on site, nine in ten up to {high:.0f}.",
    )


def instruments_of(belief: Belief, asker: Asker, likely: Sequence[str]) -> tuple[str, ...]:
    """The instruments of the observations to come and of the likely repairs."""
    equipment = belief.model.equipment
    tests = [equipment.observations[name] for name in likely]
    instruments = {i for test in tests if asker.licensed_for(test) for i in test.instruments}
    usual = belief.chances_of("remedies").tolist()
    for remedy, chance in zip(equipment.remedies.values(), usual, strict=True):
        if chance >= LIKELY_WORK and asker.licensed_for(remedy):
            instruments.update(remedy.instruments)
    return tuple(sorted(instruments))


def licences_of(belief: Belief) -> dict[str, float]:
    """The chance that the repair needs each licence, where worth naming."""
    licences: dict[str, float] = {}
    usual = belief.chances_of("remedies").tolist()
    for remedy, chance in zip(belief.model.equipment.remedies.values(), usual, strict=True):
        if remedy.licence is not None:
            licences[remedy.licence] = licences.get(remedy.licence, 0.0) + chance
    return {k: min(1.0, v) for k, v in sorted(licences.items()) if v >= WORTH_NAMING}


def sentence_of(
    equipment: Equipment, brought: Sequence[tuple[int, str]], price: float, chance: float, without: float
) -> str:
    """What to bring, in one sentence."""
    if not brought:
        return f"No part is worth bringing yet: {percent(without)} to finish without any."
    names = ", ".join(f"{n} x {title}" for n, title in brought)
    return (
        f"Bring {names} ({price:.2f} {equipment.currency}): the job can then be finished with a chance of "
        f"{percent(chance)}, against {percent(without)} with no part."
    )
