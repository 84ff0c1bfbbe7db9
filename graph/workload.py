"""What tests and repairs ask of someone: what is missing, minutes, the states of the unit, evidence destroyed.

The unit is brought into the states that a job needs and stays in them. A repair ends with its trial run.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from graph.context import Asker
from graph.equipment import Equipment, Observation, Remedy
from graph.unit import Unit

LEAST_MINUTES = 0.25
"""No work is priced as less than this."""

@dataclass(frozen=True, slots=True, eq=False)
class Workload:
    """All jobs for one asker and the unit as it is now, by id.

    `missing` is what the asker lacks for a job, in words; `minutes` (never nothing) are all of it: getting the
    unit there, the job, and for a repair the trial run; `after` is the unit state it leaves. `destroys` are the
    observations whose evidence the job destroys, while they don't destroy it themselves; `fragile` is all of them.
    """

    missing: dict[str, tuple[str, ...]]
    minutes: dict[str, float]
    after: dict[str, tuple[tuple[str, str], ...]]
    destroys: dict[str, tuple[str, ...]]
    fragile: frozenset[str]


@lru_cache(maxsize=1024)
def workload(equipment: Equipment, asker: Asker) -> Workload:
    """The workload of every observation and remedy for one asker."""
    missing, minutes, after, destroys = {}, {}, {}, {}
    jobs: list[Observation | Remedy] = [*equipment.observations.values(), *equipment.remedies.values()]
    for job in jobs:
        missing[job.id] = _missing(job, equipment, asker)
        unit = Unit(equipment, dict(asker.unit_state))
        unit.bring(job.needs)
        unit.work(job)
        if isinstance(job, Remedy) and job.verify is not None:
            trial = equipment.observations[job.verify]
            unit.bring(trial.needs)
            unit.work(trial)
        elif isinstance(job, Remedy):
            unit.run()
        minutes[job.id] = max(LEAST_MINUTES, unit.minutes)
        after[job.id] = tuple(sorted(unit.states.items()))
        if unit.lost:
            destroys[job.id] = _destroyed(job, equipment, unit.lost)
    fragile = frozenset(n for lost in destroys.values() for n in lost)
    return Workload(missing, minutes, after, destroys, fragile)


def unit_now(equipment: Equipment, asker: Asker) -> dict[str, str]:
    """The state of the unit as the asker says, or as usual."""
    return {name: u.usual for name, u in equipment.unit_states.items()} | dict(asker.unit_state)


def _destroyed(job: Observation | Remedy, equipment: Equipment, lost: set[str]) -> tuple[str, ...]:
    showing = _showing(equipment)
    return tuple(
        o.id for name in sorted(lost) for o in showing.get(name, ())
        if o.id != job.id and name not in o.disturbs
    )


@lru_cache(maxsize=64)
def _showing(equipment: Equipment) -> dict[str, list[Observation]]:
    """The observations of each signal, component or condition."""
    showing: dict[str, list[Observation]] = {}
    for observation in equipment.observations.values():
        showing.setdefault(observation.reveals, []).append(observation)
    return showing


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


def lacking_parts(remedy: Remedy, equipment: Equipment, asker: Asker) -> tuple[str, ...]:
    """The parts of a repair of which, with what serves as well, too few pieces are at hand."""
    if asker.parts is None:
        return ()
    held = dict(asker.parts)
    return tuple(
        part for part, count in remedy.parts
        if sum(held.get(p, 0) for p in equipment.serving(part)) < count
    )
