"""The testability report of a machine: for crews from the caller on the phone to the fully licensed technician."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.equipment import Equipment, Observation, Remedy
from graph.explain import percent
from graph.policy.calls import Remembered, draw_calls, play
from graph.policy.contenders import ours
from graph.policy.standings import Figure, standings
from graph.testability.answers import CrewTestability, Estimate, Group, Split, Testability, VisitCost
from graph.testability.isolation import FaultGroup, Isolation, isolation
from graph.testability.splits import best_split, merged, mistaken, one_repair
from graph.workload import workload

WORST = 5
"""Ambiguity groups that are named for each crew."""


@dataclass(frozen=True, slots=True)
class Crew:
    """Somebody at the machine, under a name."""

    title: str
    asker: Asker


def crews(equipment: Equipment) -> tuple[Crew, ...]:
    """The crews that a machine is rated for: on the phone, then technicians with more and more."""
    jobs: list[Observation | Remedy] = [*equipment.observations.values(), *equipment.remedies.values()]
    licences = sorted({job.licence for job in jobs if job.licence is not None})
    found = [
        Crew("The caller on the phone", Asker(role="site_contact")),
        Crew("A technician with bare hands", Asker(instruments=frozenset())),
        Crew("With all instruments, no licence", Asker()),
    ]
    for count in range(1, len(licences) + 1):
        held = licences[:count]
        title = f"With all instruments, licensed for {' and '.join(held)} work"
        found.append(Crew(title, Asker(licences=frozenset(held))))
    return tuple(found)


@lru_cache(maxsize=32)
def rate(
    model: CompiledModel, rated: tuple[Crew, ...], calls: int = 0, seed: int = 1, budget: float = 0.0,
    economics: Economics | None = None,
) -> Testability:
    """The report for some crews. A pure function of its arguments.

    Parameters
    ----------
    model
        The compiled machine.
    rated
        Who it is rated for, see `crews`.
    calls
        Simulated calls from which the cost of a visit is estimated; none for 0. The same for every crew.
    seed
        Of the calls.
    budget
        Planning effort of a decision, ms of a plain server; 0 scores one step ahead.
    economics
        What time and trips cost; the usual where left out.
    """
    return Testability(
        len(model.equipment.modes),
        tuple(_rated(model, c, calls, seed, budget, economics or Economics()) for c in rated),
    )


def _rated(
    model: CompiledModel, crew: Crew, calls: int, seed: int, budget: float, economics: Economics
) -> CrewTestability:
    asker, missing = crew.asker, workload(model.equipment, crew.asker).missing
    able = frozenset(name for name in model.equipment.observations if not missing[name])
    found = isolation(model, able)
    several = [g for g in merged(found.groups) if len(g.modes) > 1]
    worst = sorted(several, key=lambda g: (-round(mistaken(model, g), 12), -len(g.modes), g.modes))[:WORST]
    return CrewTestability(
        title=crew.title,
        role=asker.role,
        licences=tuple(sorted(asker.licences)),
        instruments=None if asker.instruments is None else tuple(sorted(asker.instruments)),
        observations=len(able),
        detected=found.detected(),
        isolated_to_1=found.isolated(1),
        isolated_to_2=found.isolated(2),
        isolated_to_3=found.isolated(3),
        one_repair=found.share_of(lambda g: one_repair(model, g)),
        unseen=tuple(model.hypotheses.modes[m] for m in found.unseen()),
        groups=tuple(_group(model, g, best_split(model, g, missing)) for g in worst),
        cost=visit_cost(model, asker, calls, seed, budget, economics) if calls else None,
        sentence=_sentence(found),
    )


def visit_cost(
    model: CompiledModel, asker: Asker, calls: int, seed: int, budget: float, economics: Economics
) -> VisitCost:
    """What visits cost on simulated calls; every crew meets the same ones."""
    policy = Remembered(ours(budget))
    drawn = draw_calls(model, calls, seed)
    visits = [play(model, call, policy, asker, economics) for call in drawn]
    found, = standings(model, asker, economics, drawn, {"present": visits})
    return VisitCost(
        calls, _estimate(found.tests), _estimate(found.minutes), _estimate(found.money), found.fixed.mean,
    )


def _estimate(figure: Figure) -> Estimate:
    return Estimate(figure.mean, figure.within)


def _group(model: CompiledModel, group: FaultGroup, split: Split | None) -> Group:
    names = tuple(model.hypotheses.modes[m] for m in group.modes)
    wrong, one = mistaken(model, group), one_repair(model, group)
    return Group(names, 1000 * group.mass, 1000 * wrong if not one else 0.0, one, split,
                 _group_sentence([model.equipment.mode_title(n) for n in names], group, wrong, one, split))


def _group_sentence(titles: Sequence[str], group: FaultGroup, wrong: float, one: bool, split: Split | None) -> str:
    named = ", ".join(f"“{t}”" for t in titles[:4]) + (f" and {len(titles) - 4} more" if len(titles) > 4 else "")
    look = "look" if group.detected else "go unseen and look"
    worth = (
        "one repair puts all of them right" if one
        else f"the best single repair misses {1000 * wrong:.1f} of their {1000 * group.mass:.1f} calls in a thousand"
    )
    if split is None:
        rest = "Nothing in the graph tells them apart."
    elif split.kind == "test":
        rest = f"Best split: “{split.title}” ({split.bits:.2f} bits; missing: {', '.join(split.missing)})."
    else:
        rest = f"Best split: a reading of “{split.title}” ({split.bits:.2f} bits); no test reads it so far."
    return f"{named} {look} the same; {worth}. {rest}"


def whole_percent(share: float) -> str:
    """A share for people; every one is 100 %."""
    return "100 %" if share > 1 - 1e-9 else percent(share)


def _sentence(found: Isolation) -> str:
    detected, alone, three = found.detected(), found.isolated(1), found.isolated(3)
    return (
        f"{whole_percent(detected.by_rate)} of the calls with a fault show in something; of these "
        f"{whole_percent(alone.by_rate)} come down to one failure mode, {whole_percent(three.by_rate)} to three or "
        "fewer."
    )
