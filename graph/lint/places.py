"""Where in a document each record of an equipment is written."""

from __future__ import annotations

from collections.abc import Iterator

from graph.equipment import Equipment, Observation, Remedy
from graph.errors import PathItem

Path = tuple[PathItem, ...]


def of_mode(mode: str) -> Path:
    """The place of a failure mode `component.mode`."""
    component, name = mode.split(".")
    return ("components", component, "failure_modes", name)


def of_observation(observation: Observation) -> Path:
    """The place of a symptom or test."""
    return (f"{observation.kind}s", observation.id)


def of_job(job: Observation | Remedy) -> Path:
    """The place of a test or remedy."""
    return of_observation(job) if isinstance(job, Observation) else ("remedies", job.id)


def jobs(equipment: Equipment) -> Iterator[Observation | Remedy]:
    """Everything that somebody does at the unit: tests, then remedies."""
    yield from equipment.tests.values()
    yield from equipment.remedies.values()

