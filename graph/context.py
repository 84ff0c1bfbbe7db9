"""Who is asking, with what, and what their time costs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from graph.equipment import Equipment, Licence, Observation, Remedy, Role

LEAST_MINUTES = 0.25
"""No work is priced as less than this."""


@dataclass(frozen=True, slots=True)
class Asker:
    """Someone in front of the machine. `instruments` None means everything the graph knows of.

    `unit_state` are (name, state) pairs of the unit now, where it is not in its usual state.
    """

    role: Role = "technician"
    licences: frozenset[Licence] = frozenset()
    instruments: frozenset[str] | None = None
    unit_state: tuple[tuple[str, str], ...] = ()

    def licensed_for(self, job: Observation | Remedy) -> bool:
        """Whether the kit is for someone with the licence a job needs.

        A site contact's kit is a technician's yet to be sent, who is taken to have every licence.
        """
        return self.role == "site_contact" or job.licence is None or job.licence in self.licences


@dataclass(frozen=True, slots=True)
class Economics:
    """Money, in the equipment's currency.

    Having a part out costs `picking` and `carrying_share` of its price; the defaults are invented.
    """

    labour_per_hour: float = 75.0
    return_trip: float = 140.0
    picking: float = 1.5
    carrying_share: float = 0.05
    kit_budget: float | None = None

    def labour(self, minutes: float) -> float:
        """What minutes cost; never nothing, so that ratios stay finite."""
        return minutes * max(self.labour_per_hour, 0.01) / 60


@dataclass(frozen=True, slots=True, eq=False)
class Workload:
    """What tests and remedies ask of someone, by id: what they lack, and minutes with setting up (never nothing).

    `destroys` are the observations whose evidence the job destroys, while they don't destroy it themselves;
    `fragile` is all of them.
    """

    missing: dict[str, tuple[str, ...]]
    minutes: dict[str, float]
    destroys: dict[str, tuple[str, ...]]
    fragile: frozenset[str]


@lru_cache(maxsize=256)
def workload(equipment: Equipment, asker: Asker) -> Workload:
    """The workload of every observation and remedy for one asker."""
    jobs: list[Observation | Remedy] = [*equipment.observations.values(), *equipment.remedies.values()]
    destroys = {j.id: _destroyed(j, equipment) for j in jobs if j.disturbs}
    return Workload(
        {j.id: _missing(j, equipment, asker) for j in jobs},
        {j.id: max(LEAST_MINUTES, j.minutes + _setup_minutes(j, equipment, asker)) for j in jobs},
        destroys, frozenset(n for lost in destroys.values() for n in lost),
    )


def _destroyed(job: Observation | Remedy, equipment: Equipment) -> tuple[str, ...]:
    lost = set(job.disturbs)
    return tuple(
        o.id for o in equipment.observations.values()
        if o.id != job.id and o.reveals in lost and not lost.intersection(o.disturbs)
    )


def _missing(job: Observation | Remedy, equipment: Equipment, asker: Asker) -> tuple[str, ...]:
    """What an asker lacks, in words. A site contact is never offered work with a hazard."""
    missing = []
    if job.licence is not None and job.licence not in asker.licences:
        missing.append(f"{job.licence} licence")
    if asker.role == "site_contact" and (job.role != "site_contact" or job.hazards):
        missing.append("a technician")
    if asker.instruments is not None:
        missing += [equipment.instruments[i] for i in job.instruments if i not in asker.instruments]
    return tuple(missing)


def _setup_minutes(job: Observation | Remedy, equipment: Equipment, asker: Asker) -> float:
    """Minutes to bring the unit from its present state into the one the job needs."""
    now = dict(asker.unit_state)
    total = 0.0
    for name, state in job.needs:
        unit_state = equipment.unit_states[name]
        if now.get(name, unit_state.usual) != state:
            total += unit_state.minutes.get(state, 0.0)
    return total
