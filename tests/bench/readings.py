"""What a finding with a reading costs more than one with a named outcome. Milliseconds."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count

from graph.belief import believe
from graph.compile import CompiledModel
from graph.evidence import finding
from graph.readings.taking import Given
from tests.bench.timing import timed

MOST_MS = 0.2
READ = [
    ("probe_ice_bath", "right", Given(14.3, "kOhm", {"bath": 0.5})),
    ("compressor_clamp", "normal", Given(2.2, "A")),
    ("superheat", "right", Given(-3.0, "Cel", {"suction": 2.5})),
    ("full_cycle", "normal", Given(44.0, "kg/d", {"air": 24.0, "water": 15.0})),
]


def reading_costs(model: CompiledModel) -> Iterator[tuple[str, float]]:
    """A test of the ice maker, and the milliseconds that its number costs beyond its outcome."""
    number = count()
    for test, outcome, given in READ:

        def named(test: str = test, outcome: str = outcome) -> None:
            believe(model, [finding(model, test, outcome)])

        def read(test: str = test, given: Given = given) -> None:
            # another number each time, so that nothing is taken from what the last one left
            step = next(number) * 1e-7
            fresh = Given(given.value + step, given.unit, {n: v + step for n, v in given.at.items()})
            believe(model, [finding(model, test, None, "", fresh)])

        read()  # loads the properties of refrigerants where it needs them
        yield test, timed(read) - timed(named)
