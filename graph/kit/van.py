"""What to load on a van for a whole day: several jobs, one stock.

The plan weighs joint courses of the day: all of them where they are few, else a stratified sample in which each
job's needs come up as often as they are likely. Within a course, jobs that want the same pieces share them, each
piece going to whichever job makes the most of it. That is more than a driver can know in the morning, so the load is
then tried on fresh days as they would really go: jobs in order, parts put in for nothing where no test tells causes
apart, and the usual way to repair before another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from math import prod, sqrt

import numpy as np

from graph.belief import Belief
from graph.context import Asker
from graph.errors import CurrencyMismatch
from graph.explain import percent
from graph.hypotheses import Floats, Ints
from graph.kit.answers import LoadJob, LoadLine, VanLoad
from graph.kit.choose import Choice, choose
from graph.kit.needs import Need, Slot, need_table, undominated
from graph.kit.problem import IndexedNeed, IndexedWay, KitProblem, indexed, problem_of
from graph.kit.stock import Item, Terms, items_of
from graph.suspects import ambiguity_groups

COURSES = 2000
"""Joint courses of the day that the plan weighs where there are more."""
DAYS = 4000
"""Simulated days from which the expected number of finished jobs is taken, and a quarter of them for each part."""
WORTH_A_WORD = 0.01
"""Chance of a part for a job from which the job is named."""
Course = tuple[tuple[int, ...], int]
"""Needs that are tried for nothing, then the need that finishes the job (-1: nothing does)."""


@dataclass(frozen=True, slots=True)
class DayJob:
    """One job of the day: `needs` with the chance of each; `courses` and their chances add what is tried first."""

    needs: tuple[IndexedNeed, ...]
    masses: tuple[float, ...]
    courses: tuple[Course, ...]
    chances: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Fleet:
    """What can be loaded (by part number), and the jobs in the order of driving."""

    items: tuple[Item, ...]
    jobs: tuple[DayJob, ...]


def fleet_of(beliefs: Sequence[Belief], asker: Asker) -> Fleet:
    """The day's jobs with one stock. Raises CurrencyMismatch where their prices are in different currencies."""
    first = beliefs[0].model.equipment
    for i, belief in enumerate(beliefs):
        if belief.model.equipment.currency != first.currency:
            raise CurrencyMismatch(
                f"the prices of {belief.model.equipment.id} are in {belief.model.equipment.currency}, those of "
                f"{first.id} in {first.currency}", pointer=f"/jobs/{i}", expected=first.currency,
            )
    items: dict[str, Item] = {}
    for belief in beliefs:
        for item in items_of(belief.model.equipment):
            items.setdefault(item.number, item.renamed(item.number))
    place = {number: i for i, number in enumerate(items)}
    return Fleet(tuple(items.values()), tuple(_job(belief, asker, place) for belief in beliefs))


def _job(belief: Belief, asker: Asker, place: dict[str, int]) -> DayJob:
    table, parts = need_table(belief.model, asker), belief.model.equipment.parts

    def by_number(slot: Slot) -> Slot:
        return tuple(dict.fromkeys(parts[p].number for p in slot[0])), slot[1]

    def indexed_by_number(need: Need) -> IndexedNeed:
        ways = dict.fromkeys(tuple(sorted(map(by_number, way))) for way in need)
        return indexed(undominated(list(ways)), place)

    needs = tuple(indexed_by_number(need) for need in table.needs)
    masses = table.masses(belief.fault_sets)
    tried = _tried_first(belief, asker, table.of_set)
    courses: dict[Course, float] = {}
    for number, mass in enumerate(belief.fault_sets.tolist()):
        if mass > 1e-9:
            need = int(table.of_set[number])
            course = tried.get(number, ()), need if need < len(needs) else -1
            courses[course] = courses.get(course, 0.0) + mass
    kept = sorted(courses.items(), key=lambda item: (-item[1], item[0]))
    return DayJob(needs, tuple(masses.tolist()), tuple(c for c, _ in kept), tuple(m for _, m in kept))


def _tried_first(belief: Belief, asker: Asker, need_of_set: Ints) -> dict[int, tuple[int, ...]]:
    """For each fault set of one mode, the needs of likelier modes that no test tells from it."""
    model = belief.model
    hypotheses, chances = model.hypotheses, belief.chances_of("modes")
    groups = ambiguity_groups(model, asker, belief.scene)
    members = hypotheses.members[hypotheses.examples]
    alone = (members[:, 0] >= 0) & (members[:, 1:] < 0).all(axis=1)
    set_of = {int(members[d, 0]): int(d) for d in np.flatnonzero(alone)}
    tried = {}
    for mode, number in set_of.items():
        likelier = sorted((m for m in groups[mode] if m in set_of and chances[m] > chances[mode]),
                          key=lambda m: (-chances[m], m))
        own = int(need_of_set[number])
        before = dict.fromkeys(int(need_of_set[set_of[m]]) for m in likelier)
        tried[number] = tuple(n for n in before if n != own)
    return tried


def van_problem(jobs: Sequence[tuple[Sequence[float], Sequence[IndexedNeed]]], items: Sequence[Item], terms: Terms,
                courses: int = COURSES, seed: int = 1) -> KitProblem:
    """The plan for jobs given as the chances of their needs: exact where there are at most `courses` joint courses."""
    likely = [[(m, n) for m, n in zip(masses, needs, strict=True) if m > 1e-9] for masses, needs in jobs]
    shares: dict[tuple[IndexedNeed, ...], float] = {}
    for weight, day in _days(likely, courses, seed):
        for group in _sharing([need for need in day if need is not None]):
            shares[group] = shares.get(group, 0.0) + weight
    total = sum(weight * len(group) for group, weight in shares.items())
    return problem_of(items, [(weight, group) for group, weight in sorted(shares.items())], terms,
                      max(0.0, len(jobs) - total))


_Day = tuple[float, tuple[IndexedNeed | None, ...]]


def _days(jobs: Sequence[Sequence[tuple[float, IndexedNeed]]], courses: int, seed: int) -> list[_Day]:
    """Courses of the day with their weights; None is a job that nothing finishes."""
    choices: list[list[tuple[float, IndexedNeed | None]]] = [
        [*job, (max(0.0, 1 - sum(m for m, _ in job)), None)] for job in jobs
    ]
    if prod(len(c) for c in choices) <= courses:
        return [(prod(m for m, _ in day), tuple(n for _, n in day)) for day in product(*choices)]
    dice = np.random.default_rng(seed)
    drawn = []
    for options in choices:
        ends = np.cumsum([m for m, _ in options])
        quantiles = (np.arange(courses) + dice.random()) / courses * ends[-1]
        drawn.append(dice.permutation(np.searchsorted(ends, quantiles, side="right").clip(0, len(options) - 1)))
    return [
        (1 / courses, tuple(options[int(k)][1] for options, k in zip(choices, day, strict=True)))
        for day in np.array(drawn).T
    ]


def _sharing(needs: Sequence[IndexedNeed]) -> list[tuple[IndexedNeed, ...]]:
    """Jobs that may want the same pieces, together."""
    groups: list[tuple[set[int], list[IndexedNeed]]] = []
    for need in needs:
        wanted = {i for way in need for serves, _ in way for i in serves}
        if () in need:
            wanted = set()
        fellows = [need]
        apart = []
        for items, others in groups:
            if items & wanted:
                wanted |= items
                fellows += others
            else:
                apart.append((items, others))
        groups = [*apart, (wanted, fellows)]
    return [tuple(sorted(fellows)) for _, fellows in groups]


def plan_van(fleet: Fleet, terms: Terms) -> tuple[KitProblem, Choice]:
    """The plan of a day and its best load. Raises KitInfeasible."""
    problem = van_problem([(job.masses, job.needs) for job in fleet.jobs], fleet.items, terms)
    return problem, choose(problem)


def driven(fleet: Fleet, held: Sequence[int], days: int, seed: int) -> Floats:
    """Which jobs are finished on simulated days (days x jobs) with these pieces on the van in the morning."""
    dice = np.random.default_rng(seed)
    draws = np.array([
        dice.choice(len(job.courses), size=days, p=np.array(job.chances) / sum(job.chances)) for job in fleet.jobs
    ])
    finished = np.zeros((days, len(fleet.jobs)))
    known: dict[tuple[int, ...], list[bool]] = {}
    for day, drawn in enumerate(draws.T.tolist()):
        key = tuple(drawn)
        if key not in known:
            left = list(held)
            known[key] = [
                _visit(job, job.courses[course], left) for job, course in zip(fleet.jobs, drawn, strict=True)
            ]
        finished[day] = known[key]
    return finished


def _visit(job: DayJob, course: Course, left: list[int]) -> bool:
    """One job: uses up pieces of `left`; whether it is finished."""
    tried, need = course
    for wrong in tried:
        if wrong < len(job.needs):
            _use(job.needs[wrong], left)
    return need >= 0 and _use(job.needs[need], left)


def _use(need: IndexedNeed, left: list[int]) -> bool:
    for way in need:
        taken = _taken(way, left)
        if taken is not None:
            for i, n in taken.items():
                left[i] -= n
            return True
    return False


def _taken(way: IndexedWay, left: Sequence[int]) -> dict[int, int] | None:
    """The pieces that one way takes, the wanted part before what serves; None where they are not there."""
    taken: dict[int, int] = {}
    for serves, n in way:
        lacking = n - sum(taken.get(i, 0) for i in serves)
        for i in serves:
            more = min(max(lacking, 0), left[i] - taken.get(i, 0))
            taken[i] = taken.get(i, 0) + more
            lacking -= more
        if lacking > 0:
            return None
    return taken


def van_load(beliefs: Sequence[Belief], asker: Asker, terms: Terms, seed: int = 1) -> VanLoad:
    """What to load for a day of jobs, in the order of driving. Raises CurrencyMismatch, KitInfeasible."""
    fleet = fleet_of(beliefs, asker)
    problem, best = plan_van(fleet, terms)
    held = [a + n for a, n in zip(problem.aboard, best.loaded, strict=True)]
    days = driven(fleet, held, DAYS, seed)
    per_day = days.sum(axis=1)
    lines = _lines(fleet, problem, best, held, seed)
    mean = float(per_day.mean())
    without = float(driven(fleet, problem.aboard, DAYS, seed).sum(axis=1).mean())
    currency = beliefs[0].model.equipment.currency
    count = len(beliefs)
    price = problem.used("budget", best.loaded)
    lead = f"Load {sum(best.loaded)} pieces ({price:.2f} {currency})" if lines else "Load nothing"
    return VanLoad(
        currency=currency, lines=lines, price=price,
        volume_litres=problem.used("volume_litres", best.loaded), weight_kg=problem.used("weight_kg", best.loaded),
        jobs=_jobs(beliefs, fleet, held, days),
        expected_finished=mean, within=1.96 * float(per_day.std(ddof=1)) / sqrt(DAYS),
        planned_finished=best.finished, without=without, cost=best.cost, gap=best.gap,
        sentence=(
            f"{lead}: of {count} job{'s' if count > 1 else ''}, {mean:.1f} will be finished on average in one visit, "
            f"against {without:.1f} with nothing loaded."
        ),
    )


def _lines(
    fleet: Fleet, problem: KitProblem, best: Choice, held: Sequence[int], seed: int
) -> tuple[LoadLine, ...]:
    base = float(driven(fleet, held, DAYS // 4, seed).sum()) / (DAYS // 4)
    lines = []
    for i, n in enumerate(best.loaded):
        if not n:
            continue
        item = problem.items[i]
        rest = [h - n if j == i else h for j, h in enumerate(held)]
        lost = max(0.0, base - float(driven(fleet, rest, DAYS // 4, seed).sum()) / (DAYS // 4))
        wants = [
            sum(m for m, need in zip(job.masses, job.needs, strict=True)
                if any(i in serves for way in need for serves, _ in way))
            for job in fleet.jobs
        ]
        users = tuple(number for number, chance in enumerate(wants, 1) if chance >= min(WORTH_A_WORD, max(wants)))
        lines.append(LoadLine(
            item.number, item.title, n, item.price * n, lost, users,
            f"{n} x {item.title}: without it {lost:.2f} jobs fewer are finished; it may serve "
            f"job{'s' if len(users) > 1 else ''} {', '.join(map(str, users))}.",
        ))
    return tuple(sorted(lines, key=lambda line: (-line.worth, line.number)))


def _jobs(beliefs: Sequence[Belief], fleet: Fleet, held: Sequence[int], days: Floats) -> tuple[LoadJob, ...]:
    found = []
    for number, (belief, job) in enumerate(zip(beliefs, fleet.jobs, strict=True)):
        alone = sum(m for m, need in zip(job.masses, job.needs, strict=True) if _use(need, list(held)))
        chance = float(days[:, number].mean())
        equipment = belief.model.equipment
        found.append(LoadJob(
            number + 1, equipment.id, equipment.title, chance, alone,
            f"Job {number + 1}, {equipment.title}: {percent(chance)} to finish; with the van to itself "
            f"{percent(alone)}.",
        ))
    return tuple(found)
