"""The path of a visit: the next step, and the step after it for each outcome, to a depth or to the end.

What is left out of it is said and priced. Steps are numbered in the order of reading.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import islice

from graph.answers import Caution
from graph.compile import CompiledModel
from graph.conflict import conflict
from graph.context import Asker, Economics
from graph.equipment import Observation, Remedy
from graph.evidence import Finding, outcome_title
from graph.explain import percent
from graph.policy.branching import Fork, Opened, Place, Planner, opened
from graph.policy.decision import DEFAULT_BUDGET
from graph.policy.lockout import switching_steps
from graph.policy.path_answers import (
    CutReason,
    Path,
    PathBranch,
    PathCut,
    PathEnd,
    PathNode,
    PathTotals,
    PathTrial,
    StepKind,
    hazards_of,
    parts_of,
)
from graph.policy.ranking import goods_price
from graph.policy.worktable import situation
from graph.unit import Unit

DEPTH, MOST_NODES, LEAST_CHANCE = 12, 40, 0.01
STEP_BUDGET = 20.0
"""Milliseconds, nominal, for each step but the first."""


def path_of(
    model: CompiledModel,
    findings: Sequence[Finding] = (),
    *,
    known: Mapping[str, str] | None = None,
    asker: Asker | None = None,
    economics: Economics | None = None,
    passed_over: Iterable[str] = (),
    depth: int = DEPTH,
    most_nodes: int = MOST_NODES,
    least_chance: float = LEAST_CHANCE,
    budget: float = STEP_BUDGET,
    first_budget: float = DEFAULT_BUDGET,
) -> Path:
    """The path from where a case is now. A pure function of its arguments.

    `passed_over` as in `advise`. The path has at most `most_nodes` steps and `depth` of them one after the other,
    but always the first; outcomes less likely than `least_chance` over all are not followed. `budget` and
    `first_budget` (the first step) are the milliseconds of `decide`. Raises UnknownName for conditions.
    """
    asker, economics = asker or Asker(), economics or Economics()
    depth, most_nodes = max(depth, 1), max(most_nodes, 1)
    planner = Planner(model, economics, budget, least_chance)
    now, lost = situation(model, findings, asker)
    start = planner.arrive(
        0, 1.0, tuple(findings), (), known or {}, now, frozenset(passed_over) | lost, first_budget,
    )
    steps = tuple(islice(opened(planner, start, depth), most_nodes))
    nodes = _Writer(planner, steps, depth).write(start)
    totals = _totals(nodes, start.end)
    equipment = model.equipment
    given = tuple(outcome_title(model, f) for f in findings if f.counts)
    notes = [equipment.data_note] if equipment.data_note else []
    if conflict(start.belief) is not None:
        notes.append("The findings hardly go together; check them again before you follow this path.")
    return Path(
        equipment.id, equipment.title, equipment.currency, given, nodes, start.end, totals, _cautions(model, nodes),
        equipment.cautions, tuple(notes), _summary(totals, equipment.currency),
    )


class _Writer:
    """Numbers the opened steps in the order of reading and writes them out."""

    def __init__(self, planner: Planner, steps: Sequence[Opened], depth: int) -> None:
        self.planner = planner
        self.steps = {id(step.place): step for step in steps}
        self.depth = depth
        self.numbers: dict[int, int] = {}

    def write(self, start: Place) -> tuple[PathNode, ...]:
        """All steps from the first on."""
        order: list[tuple[Opened, int | None]] = []
        waiting: list[tuple[Place, int | None]] = [(start, None)]
        while waiting:
            place, parent = waiting.pop()
            step = self.steps.get(id(place))
            if step is not None:
                order.append((step, parent))
                number = self.numbers[id(place)] = len(order)
                waiting += [(f.to, number) for f in reversed(step.forks) if f.to is not None]
        return tuple(self._node(step, parent) for step, parent in order)

    def _node(self, step: Opened, parent: int | None) -> PathNode:
        place, equipment, economics = step.place, self.planner.model.equipment, self.planner.economics
        name = place.choice.name
        job: Observation | Remedy = (equipment.remedies if name in equipment.remedies else equipment.observations)[name]
        kind: StepKind = "repair" if isinstance(job, Remedy) else "ask" if job.kind == "symptom" else "test"
        unit = Unit(equipment, dict(place.asker.unit_state))
        before = dict(unit.states)
        unit.bring(job.needs)
        check = equipment.observations[job.verify] if isinstance(job, Remedy) and job.verify else None
        running = dict(check.needs) if check else {n: u.usual for n, u in equipment.unit_states.items() if u.lockout}
        trial = PathTrial(
            None if check is None else check.id, "Trial run" if check is None else check.title,
            () if check is None else check.how, switching_steps(equipment, unit.states, running),
        )
        minutes = place.ranking.work.minutes[name]
        money = economics.labour(minutes) + goods_price(equipment, job)
        lead = {"ask": "Ask", "test": "Test", "repair": "Repair"}[kind]
        return PathNode(
            self.numbers[id(place)], parent, place.depth, place.chance, place.said, kind, name, job.title, job.how,
            1 if isinstance(job, Remedy) else job.repeats, job.licence,
            tuple(equipment.instruments[i] for i in job.instruments),
            hazards_of(equipment, [job, *([check] if check else [])]),
            switching_steps(equipment, before, dict(job.needs)),
            trial if kind == "repair" else None,
            parts_of(equipment, dict(job.parts)) if isinstance(job, Remedy) else (),
            minutes, money, place.choice.cost, place.optimal, tuple(self._branch(step, f) for f in step.forks),
            f"{lead}: “{job.title}”, about {minutes:g} min, {money:.2f} {equipment.currency}; reached in "
            f"{percent(place.chance)} of visits.",
        )

    def _branch(self, step: Opened, fork: Fork) -> PathBranch:
        number = None if fork.to is None else self.numbers.get(id(fork.to))
        end = None if fork.to is None else fork.to.end
        cut = None if number or end else self._cut(fork)
        return PathBranch(
            fork.outcomes, fork.title, fork.chance, step.place.chance * fork.chance, number, end, cut,
        )

    def _cut(self, fork: Fork) -> PathCut:
        place, planner = fork.to, self.planner
        if place is None:
            sentence = f"Not followed: chance below {planner.least_chance * 100:g} %. Ask again from here."
            return PathCut("least_chance", None, fork.ending, "ending", sentence)
        title = planner.model.equipment.title_of(place.choice.name)
        deep = place.depth >= self.depth
        why: CutReason = "depth" if deep else "most_nodes"
        limit = f"deeper than {self.depth} steps" if deep else f"the path is cut at {len(self.steps)} steps"
        sentence = f"Not followed: {limit}. Ask again from here; next would be “{title}”."
        if place.choice.cost is None:
            return PathCut(why, title, planner.ending(place.belief, place.asker), "ending", sentence)
        return PathCut(why, title, place.choice.cost, "decision", sentence)


def _totals(nodes: Sequence[PathNode], at_once: PathEnd | None) -> PathTotals:
    ends = [(b.reached, b.end) for n in nodes for b in n.branches if b.end] + ([(1.0, at_once)] if at_once else [])
    cuts = [(b.reached, b.cut) for n in nodes for b in n.branches if b.cut]
    closed = [(chance, end) for chance, end in ends if end.kind == "close"]
    return PathTotals(
        minutes=sum(n.chance * n.minutes for n in nodes),
        money=sum(n.chance * n.money for n in nodes),
        tests=sum(n.chance for n in nodes if n.kind != "repair"),
        repairs=sum(n.chance for n in nodes if n.kind == "repair"),
        finished=sum(chance * end.nothing_left for chance, end in closed),
        closed=sum(chance for chance, _ in closed),
        cut=sum(chance for chance, _ in cuts),
        beyond=sum(chance * end.cost for chance, end in ends) + sum(chance * cut.cost for chance, cut in cuts),
        nodes=len(nodes),
    )


def _summary(totals: PathTotals, currency: str) -> str:
    cut = "" if totals.cut <= 0 else (
        f" {percent(totals.cut).capitalize()} of visits leave the steps shown: what they take further is not in these "
        "minutes, and the chance to finish is higher."
    )
    return (
        f"On average {totals.minutes:.0f} min and {totals.money:.0f} {currency} for this visit, {totals.tests:.1f} "
        f"tests, {percent(totals.finished)} to finish with everything put right. What is still open then costs another "
        f"{totals.beyond:.0f} {currency} on average.{cut}"
    )


def _cautions(model: CompiledModel, nodes: Sequence[PathNode]) -> tuple[Caution, ...]:
    applies: dict[str, dict[str, None]] = {}
    for node in nodes:
        for hazard in node.hazards:
            applies.setdefault(hazard.hazard, {})[node.id] = None
    return tuple(
        Caution(h.id, h.title, h.precautions, tuple(applies[h.id]))
        for h in model.equipment.hazards.values() if h.id in applies
    )
