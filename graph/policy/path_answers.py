"""The path of a visit as it goes out: steps, what each outcome leads to, how the visit ends.

Chances are 0..1, times minutes, money in `Path.currency`. Steps refer to one another by number, so that a deep
path is a flat list. The records have no slots, for the encoder's sake, like those of `graph.answers`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar, Literal

from graph.answers import Caution
from graph.belief import Belief
from graph.equipment import Equipment, Observation, Remedy
from graph.explain import percent
from graph.policy.decision import SETTLED
from graph.policy.lockout import switching_steps
from graph.policy.ranking import LIKELY_ENOUGH, Ranking
from graph.proposals import LOST, MOSTLY
from graph.records import DOCUMENTED
from graph.workload import lacking_parts

StepKind = Literal["ask", "test", "repair"]
EndKind = Literal["close", "return", "support"]
CutReason = Literal["least_chance", "depth", "most_nodes"]



@dataclass(frozen=True)
class PathFinding:
    """One outcome on the way to a step."""

    about: str
    outcome: str
    said: str


@dataclass(frozen=True)
class PathHazard:
    """What can hurt someone in one step; the precautions are in `Path.cautions`."""

    hazard: str
    title: str


@dataclass(frozen=True)
class PathPart:
    """A part that a step uses up, or that has to be brought."""

    part: str
    number: str
    title: str
    quantity: int


@dataclass(frozen=True)
class PathTrial:
    """The trial run that ends a repair: what to do to the unit for it, and the test to make, if one is named."""

    test: str | None
    title: str
    how: tuple[str, ...]
    switching: tuple[str, ...]


@dataclass(frozen=True)
class PathEnd:
    """How the visit ends."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    kind: EndKind
    title: str
    nothing_left: float
    """P(nothing is left wrong)."""
    parts: tuple[PathPart, ...]
    """What to return with."""
    missing: tuple[str, ...]
    """Licences and instruments to return with."""
    switching: tuple[str, ...]
    """How the unit is brought back into its usual state before it is left."""
    cost: float
    """Money expected after this visit: coming again, looking anew, the repair."""
    sentence: str


@dataclass(frozen=True)
class PathCut:
    """Where the path is not followed on."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    why: CutReason
    title: str | None
    """What would come next, where that was decided."""
    cost: float
    """Money expected from here on."""
    estimate: Literal["decision", "ending"]
    """Where `cost` comes from: the decision's own estimate, or the price of ending the visit there."""
    sentence: str


@dataclass(frozen=True)
class PathBranch:
    """One outcome of a step; exactly one of `step`, `end` and `cut` says where it leads."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    outcomes: tuple[str, ...]
    """The outcome; several where unlikely ones are taken together."""
    title: str
    chance: float
    """P(outcome | the step is reached)."""
    reached: float
    """P(the visit comes this way)."""
    step: int | None
    end: PathEnd | None
    cut: PathCut | None


@dataclass(frozen=True)
class PathNode:
    """One step: a question, a test, or a repair with its trial run."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    number: int
    """From 1, in the order of reading: the likeliest outcome of a step comes right after it."""
    comes_from: int | None
    depth: int
    chance: float
    """P(the visit comes to this step)."""
    findings: tuple[PathFinding, ...]
    """What this way has shown so far, besides what the case began with."""
    kind: StepKind
    id: str
    title: str
    how: tuple[str, ...]
    repeats: int
    licence: str | None
    instruments: tuple[str, ...]
    """In words."""
    hazards: tuple[PathHazard, ...]
    switching: tuple[str, ...]
    """What to do to the unit first, in order."""
    trial: PathTrial | None
    parts: tuple[PathPart, ...]
    minutes: float
    """All of the step, the switching and a repair's trial run included."""
    money: float
    cost: float | None
    """Money expected from here to the end of the matter, as the decision estimates it."""
    optimal: bool
    """Whether the step is proved to be the cheapest way on."""
    branches: tuple[PathBranch, ...]
    sentence: str


@dataclass(frozen=True)
class PathTotals:
    """What the path comes to, over all its ways."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    minutes: float
    """Expected minutes of the steps shown."""
    money: float
    """Expected money of the steps shown."""
    tests: float
    """Expected number of tests and questions shown."""
    repairs: float
    """Expected number of repairs shown."""
    finished: float
    """P(closed on this visit with everything put right), within the steps shown."""
    closed: float
    """P(closed on this visit), within the steps shown."""
    cut: float
    """P(the visit leaves the steps shown before its end)."""
    beyond: float
    """Expected money after the steps shown: further visits, and the estimates where the path is cut."""
    nodes: int


@dataclass(frozen=True)
class Path:
    """What to do for each outcome, from where a case is now to the end of the visit."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    equipment: str
    title: str
    currency: str
    given: tuple[str, ...]
    """What the case began with, in words."""
    nodes: tuple[PathNode, ...]
    end: PathEnd | None
    """Where there is nothing to do: how the visit ends at once."""
    totals: PathTotals
    cautions: tuple[Caution, ...]
    """Hazards of all steps with their precautions."""
    general_cautions: tuple[str, ...]
    notes: tuple[str, ...]
    sentence: str


def parts_of(equipment: Equipment, quantities: Mapping[str, int]) -> tuple[PathPart, ...]:
    """Parts with number and title."""
    return tuple(PathPart(p, equipment.parts[p].number, equipment.parts[p].title, n) for p, n in quantities.items())


def hazards_of(equipment: Equipment, jobs: Iterable[Observation | Remedy]) -> tuple[PathHazard, ...]:
    """The hazards of all jobs of a step, each once."""
    names = dict.fromkeys(h for job in jobs for h in job.hazards)
    return tuple(PathHazard(h, equipment.hazards[h].title) for h in names)


def end_of(belief: Belief, ranking: Ranking, remedy: Remedy | None, cost: float) -> PathEnd:
    """How a visit ends where nothing more is done in it.

    `remedy` is the repair that is due but for its parts, `cost` the money expected afterwards.
    """
    settled = belief.nothing_left
    back = _put_back(belief.model.equipment, dict(ranking.asker.unit_state))
    words = percent(settled)
    if settled >= SETTLED:
        sentence = f"Nothing is left wrong ({words}): close the job."
        return PathEnd("close", "Close the job", settled, (), (), back, cost, sentence)
    if remedy is None and settled >= MOSTLY:
        sentence = f"Nothing more pays, but it may come back: nothing is left wrong with a chance of {words}."
        return PathEnd("close", "Close the job, with a warning", settled, (), (), back, cost, sentence)
    if remedy is None and belief.unlisted >= LOST:
        sentence = f"The cause is not in this graph with a chance of {percent(belief.unlisted)}."
        return PathEnd("support", "Call support", settled, (), (), back, cost, sentence)
    wanted = _likely(belief) if remedy is None else [remedy]
    likely = ", ".join(f"“{r.title}”" for r in wanted[:3]) or "none that this graph knows"
    if ranking.asker.role == "site_contact":
        parts = _most_parts(wanted, [p for r in wanted for p, _ in r.parts], belief.model.equipment)
        sentence = f"Nothing more can be told from here. Likely repairs: {likely}."
        return PathEnd("return", "Send a technician", settled, parts, (), back, cost, sentence)
    lacking = [p for r in wanted for p in lacking_parts(r, belief.model.equipment, ranking.asker)]
    missing = tuple(dict.fromkeys(m for r in wanted for m in ranking.work.missing[r.id]))
    if lacking or missing:
        parts = _most_parts(wanted, lacking, belief.model.equipment)
        sentence = f"Something is missing for the likely repairs: {likely}."
        return PathEnd("return", "Return", settled, parts, missing, back, cost, sentence)
    sentence = f"No test or repair at hand is worth its price. Still likely: {likely}."
    return PathEnd("support", "Call support", settled, (), (), back, cost, sentence)


def _likely(belief: Belief) -> list[Remedy]:
    """The usual repairs of what may be wrong, likeliest first (ties by id)."""
    chances = belief.marginals_of("remedies")
    names = sorted((n for n, c in chances.items() if c >= LIKELY_ENOUGH), key=lambda n: (-chances[n], n))
    return [belief.model.equipment.remedies[n] for n in names]


def _most_parts(wanted: Sequence[Remedy], parts: Iterable[str], equipment: Equipment) -> tuple[PathPart, ...]:
    """Each of the parts in the largest quantity that one of the repairs needs."""
    needed = {p: max(dict(r.parts).get(p, 0) for r in wanted) for p in dict.fromkeys(parts)}
    return parts_of(equipment, needed)


def _put_back(equipment: Equipment, state: Mapping[str, str]) -> tuple[str, ...]:
    """The way back to the usual state of all that takes time to put back: covers on, the supply restored."""
    usual = {n: u.usual for n, u in equipment.unit_states.items() if u.minutes.get(u.usual) or u.lockout is not None}
    return switching_steps(equipment, state, usual)
