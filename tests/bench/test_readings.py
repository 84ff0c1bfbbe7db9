"""What a reading costs: under 0.2 ms more than a named outcome, and no refrigerant library until one is needed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from timeit import repeat

import pytest

from graph.belief import believe
from graph.evidence import finding
from graph.readings.taking import Given
from tests.graph.readings.specimens import ice_maker

MOST_MS = 0.2
READ = [
    ("probe_ice_bath", "right", Given(14.3, "kOhm", {"bath": 0.5})),
    ("compressor_clamp", "normal", Given(2.2, "A")),
    ("superheat", "right", Given(-3.0, "Cel", {"suction": 2.5})),
    ("full_cycle", "normal", Given(44.0, "kg/d", {"air": 24.0, "water": 15.0})),
]
START = """
import sys
from api.app import create_app
from api.settings import Settings
create_app(Settings(database=":memory:"))
from schemas.load import load_text
from graph.compile import compile_model
from importlib.resources import files
compile_model(load_text(files("fixtures").joinpath("equipment/quillmere-c45.yaml").read_bytes()))
print("CoolProp" in sys.modules)
"""


@pytest.mark.parametrize(("test", "outcome", "given"), READ, ids=[r[0] for r in READ])
def test_a_reading_costs_little_more_than_an_outcome(test: str, outcome: str, given: Given) -> None:
    model, number = ice_maker(), iter(range(1_000_000))

    def named() -> None:
        believe(model, [finding(model, test, outcome)])

    def read() -> None:
        # another number each time, so that nothing is taken from what the last one left
        step = next(number) * 1e-7
        fresh = Given(given.value + step, given.unit, {n: v + step for n, v in given.at.items()})
        believe(model, [finding(model, test, None, "", fresh)])

    read()  # loads the properties of refrigerants where it needs them
    quickest = [min(repeat(call, number=20, repeat=15)) / 20 * 1e3 for call in (named, read)]
    assert quickest[1] - quickest[0] < MOST_MS


def test_the_service_starts_without_the_refrigerant_library() -> None:
    root = Path(__file__).parents[2]
    said = subprocess.run([sys.executable, "-c", START], cwd=root, capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "False"
