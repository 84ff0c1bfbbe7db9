"""What may happen on a visit, place by place: every step decided anew, every outcome followed, the likeliest first.

Cut short anywhere, the search has shown the ways that are taken most often (best-first search; J. Pearl,
*Heuristics*, 1984).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from heapq import heappop, heappush

from graph.belief import Belief, believe
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.evidence import NEUTRAL, RUNS, STILL_FAULTY, Finding, clean_runs, outcome_title
from graph.policy.decision import Choice, decide
from graph.policy.outlook import left_of, outlook
from graph.policy.path_answers import PathEnd, PathFinding, end_of
from graph.policy.ranking import Ranking, rank_remedies, rank_tests
from graph.workload import lacking_parts

POSSIBLE = 1e-12
"""Chance of an outcome below which it is taken to be impossible."""
NOT_MADE = NEUTRAL[0]


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """One place that a visit comes to, and what is decided there.

    `findings` are all since the case began, `said` those of this way; `asker` has the unit as it is here; `passed`
    are observations that are not offered. `end` is None where there is a step (`choice`) to take.
    """

    depth: int
    chance: float
    findings: tuple[Finding, ...]
    said: tuple[PathFinding, ...]
    known: Mapping[str, str]
    asker: Asker
    passed: frozenset[str]
    belief: Belief
    ranking: Ranking
    choice: Choice
    optimal: bool
    end: PathEnd | None


@dataclass(frozen=True, slots=True, eq=False)
class Fork:
    """One outcome of a step: where it leads, or the price of ending the visit there if it is too unlikely."""

    outcomes: tuple[str, ...]
    title: str
    chance: float
    to: Place | None
    ending: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Opened:
    """A step whose outcomes have been followed, likeliest first."""

    place: Place
    forks: tuple[Fork, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Planner:
    """What stays the same all along a path; `budget` as in `decide`."""

    model: CompiledModel
    economics: Economics
    budget: float
    least_chance: float

    def arrive(
        self, depth: int, chance: float, findings: tuple[Finding, ...], said: tuple[PathFinding, ...],
        known: Mapping[str, str], asker: Asker, passed: frozenset[str], budget: float,
    ) -> Place:
        """Decide what to do in one place."""
        belief = believe(self.model, findings, known)
        ranking = rank_tests(belief, asker, self.economics, passed)
        remedies = [r for r in rank_remedies(belief, ranking) if not r.missing]
        decision = decide(belief, ranking, remedies, budget, compare=False)
        choice, optimal = decision.first, decision.optimal
        end = None
        remedy = self.model.equipment.remedies[choice.name] if choice.action == "remedy" else None
        if remedy is None and choice.action == "end":
            end = end_of(belief, ranking, None, self.ending(belief, asker))
        elif remedy is not None and lacking_parts(remedy, self.model.equipment, asker):
            end = end_of(belief, ranking, remedy, self.ending(belief, asker) if choice.cost is None else choice.cost)
        return Place(
            depth, chance, findings, said, known, asker, passed, belief, ranking, choice, optimal, end,
        )

    def ending(self, belief: Belief, asker: Asker) -> float:
        """The money of ending the visit with this belief."""
        prospect = outlook(self.model, asker, self.economics)
        return float(belief.rows @ prospect.ends)

    def open(self, place: Place) -> Opened:
        """Follow every outcome of a place's step; the unlikely ones together."""
        forks, rare = [], []
        for outcome, title, chance in self.outcomes(place):
            if place.chance * chance >= self.least_chance:
                forks.append(Fork((outcome,), title, chance, self.follow(place, outcome, title, chance)))
            elif chance > POSSIBLE:
                rare.append((outcome, title, chance))
        forks.sort(key=lambda f: -round(f.chance, 12))
        if rare:
            total = sum(chance for _, _, chance in rare)
            ending = sum(c * self.ending(self.after(place, o), place.asker) for o, _, c in rare) / total
            title = "; ".join(title for _, title, _ in rare)
            if len(rare) > 1:
                title = f"{'Anything else' if forks else 'Whatever it shows'} ({title})"
            forks.append(Fork(tuple(o for o, _, _ in rare), title, total, None, ending))
        return Opened(place, tuple(forks))

    def outcomes(self, place: Place) -> list[tuple[str, str, float]]:
        """The outcomes of a place's step with title and chance, in the document's order; they add up to 1."""
        name, belief = place.choice.name, place.belief
        if place.choice.action == "remedy":
            number = list(self.model.equipment.remedies).index(name)
            runs = float(belief.rows @ clean_runs(self.model)[left_of(self.model)[number]])
            return [(RUNS, "Runs", runs), (STILL_FAULTY, "Still faulty", 1 - runs)]
        watch = self.model.watches[self.model.by_id[name]]
        told = place.ranking.gains.outcomes[watch.first: watch.first + len(watch.outcomes)].tolist()
        titles = [watch.observation.outcome_title(o) for o in watch.outcomes]
        rest = 1 - sum(told)
        unable = [(NOT_MADE, "Can't be made on this unit", rest)] if rest > POSSIBLE else []
        return [*zip(watch.outcomes, titles, told, strict=True), *unable]

    def shown(self, place: Place, outcome: str) -> tuple[tuple[Finding, ...], Mapping[str, str]]:
        """The findings and known conditions after an outcome.

        A test that the unit is not made for says which option is fitted, where only one is left.
        """
        if outcome != NOT_MADE:
            return (*place.findings, Finding(place.choice.name, ((outcome, 1),))), place.known
        needs = self.model.equipment.observations[place.choice.name].only_if
        if len(needs) == 1 and needs[0][0] in self.model.equipment.conditions:
            name, states = needs[0]
            others = [s for s in self.model.equipment.conditions[name].states if s not in states]
            if len(others) == 1:
                return place.findings, {**place.known, name: others[0]}
        return place.findings, place.known

    def after(self, place: Place, outcome: str) -> Belief:
        """The belief after an outcome."""
        return believe(self.model, *self.shown(place, outcome))

    def follow(self, place: Place, outcome: str, title: str, chance: float) -> Place:
        """The place that an outcome leads to. The unit stays as the step leaves it; evidence destroyed is gone."""
        name, work = place.choice.name, place.ranking.work
        findings, known = self.shown(place, outcome)
        asker = replace(place.asker, unit_state=work.after[name])
        passed = place.passed | {*work.destroys.get(name, ()), *([name] if outcome == NOT_MADE else ())}
        words = title if outcome == NOT_MADE else outcome_title(self.model, findings[-1])
        said = (*place.said, PathFinding(name, outcome, words))
        return self.arrive(
            place.depth + 1, place.chance * chance, findings, said, known, asker, passed, self.budget,
        )


def opened(planner: Planner, start: Place, depth: int) -> Iterator[Opened]:
    """Open one step after the other, the likeliest that is still open first (ties: found first), as far as asked."""
    waiting: list[tuple[float, int, Place]] = []
    found = 0

    def add(place: Place | None) -> None:
        nonlocal found
        if place is not None and place.end is None and place.depth < depth:
            heappush(waiting, (-round(place.chance, 12), found, place))
            found += 1

    add(start)
    while waiting:
        step = planner.open(heappop(waiting)[2])
        yield step
        for fork in step.forks:
            add(fork.to)
