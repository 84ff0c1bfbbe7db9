"""Readings to try things on: those of the shipped ice maker, and some of components it does not have."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Any

from graph.compile import CompiledModel, compile_model
from graph.readings.records import Reading
from schemas.load import load_text
from schemas.readings import ReadingShape, reading_defects, reading_of

OTHERS: dict[str, tuple[list[str], dict[str, Any]]] = {
    "suction": (["normal", "low", "high"], {
        "quantity": "pressure_gauge", "unit": "bar", "accuracy_percent": 1,
        "expected": {"normal": {"low": 2.2, "high": 2.8}, "low": {"low": -0.3, "high": 1},
                     "high": {"low": 4.8, "high": 7}},
    }),
    "cabinet_probe": (["sound", "open"], {
        "quantity": "resistance", "unit": "Ohm", "accuracy_percent": 0.5, "accuracy_counts": 2, "display_step": 0.1,
        "at": {"cabinet": {"title": "Temperature of the cabinet", "unit": "Cel", "usual": -18, "accuracy": 0.5,
                           "varies": 5}},
        "expected": {"sound": {"curve": "platinum", "of": {"ohms_at_0": 1000, "celsius": "cabinet"},
                               "tolerance_percent": 0.3},
                     "open": {"low": 10_000_000}},
    }),
    "heater": (["sound", "open", "earthed"], {
        "quantity": "resistance", "unit": "Ohm", "accuracy_percent": 1, "accuracy_counts": 3, "display_step": 0.1,
        "expected": {"sound": {"curve": "nameplate", "of": {"watts": 2000, "volts": 230}, "tolerance_percent": 8},
                     "open": {"low": 1_000_000}, "earthed": {"high": 3}},
    }),
    "water": (["right", "warm"], {
        "quantity": "temperature", "unit": "Cel", "accuracy_counts": 5, "display_step": 0.1,
        "expected": {"right": {"low": 6, "high": 18}, "warm": {"low": 24, "high": 35}},
    }),
    "liquid_line": (["right", "short"], {
        "quantity": "temperature", "unit": "Cel", "accuracy_counts": 5, "display_step": 0.1,
        "at": {"head": {"title": "Discharge pressure", "unit": "bar(g)", "usual": 15, "accuracy": 0.2, "varies": 4}},
        "expected": {
            "right": {"curve": "saturation_temperature",
                      "of": {"refrigerant": "R-449A", "side": "bubble", "pressure": "head"}, "offset": [-8, -3]},
            "short": {"like": "right", "offset": [-1, 1]},
        },
    }),
}


@cache
def ice_maker() -> CompiledModel:
    return compile_model(load_text(files("fixtures").joinpath("equipment/quillmere-c45.yaml").read_bytes()))


def reading(states: list[str], data: dict[str, Any], wrong: float = 0.03) -> Reading:
    shape = ReadingShape.model_validate(data)
    assert not list(reading_defects(shape, "it", states, ()))
    return reading_of(shape, states, wrong)


@cache
def specimens() -> dict[str, Reading]:
    found = {o.id: o.reading for o in ice_maker().equipment.tests.values() if o.reading is not None}
    return {**found, **{name: reading(*other) for name, other in OTHERS.items()}}
