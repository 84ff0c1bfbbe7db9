"""The shipped modules, in every build: sound, with nothing invisible and no test that tells nothing."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from graph.compile import CompiledModel, compile_model
from graph.gain import gains
from graph.belief import believe
from schemas.load import load_data
from schemas.modules.library import Module, shipped

SHIPPED = {name: shipped().module(name) for name in shipped().ids}
SIGNALS = {"supply": ["off"], "command": ["off"]}
GIVEN: dict[str, Any] = {
    "dark": {"supply": "absent"}, "no_supply": {"supply": "absent"}, "no_water": {"tap": "shut"},
    "not_full": {"tap": "shut"}, "not_called": {"call": "no"}, "drive": "command", "output": "command",
    "board_remedy": "replace_board",
}
BUILDS = [
    (name, choice, value)
    for name, module in SHIPPED.items()
    for choice, value in [
        (p, v) for p, shape in module.parameters.items() for v in shape.choices
    ] or [("", "")]
]


def machine(module: Module, choice: str, value: str) -> dict[str, Any]:
    given = {n: v for n, v in GIVEN.items() if n in module.parameters}
    told = {"name": "thing under test", **given, **({choice: value} if choice else {})}
    switch = {"failure_modes": {"off": {"title": "Off", "calls_per_thousand": 20, "remedies": ["switch_on"]}}}
    work: dict[str, Any] = {"minutes": 1, "needs": {"power": "any"}}
    return {
        "format": 1,
        "equipment": {"id": "bench", "title": "Test bench", "category": "bench", "most_faults": 1,
                      "two_faults_in_100": 0},
        "modules": {"it": {
            "module": module.id, "with": told,
            "parts": {part: {"number": f"T-{i}"} for i, part in enumerate(module.sections["parts"])},
        }},
        "unit_states": {
            "power": {"title": "Power", "states": ["energised", "isolated"], "usual": "energised", "lockout": "isolated"},
            "front_panel": {"title": "Panel", "states": ["on", "off"], "usual": "on"},
            "electrics_cover": {"title": "Cover", "states": ["on", "off"], "usual": "on", "guards": True},
        },
        "components": {
            "mains": {"title": "Mains", **switch}, "output": {"title": "Output", **switch},
            "tap": {"title": "Tap", "failure_modes": {
                "shut": {"title": "Shut", "calls_per_thousand": 20, "remedies": ["switch_on"]}}},
        },
        "signals": {
            "supply": {"title": "Supply", "states": ["present", "absent"],
                       "rules": [{"when": {"mains": "off"}, "state": "absent"}, {"state": "present"}]},
            "command": {"title": "Command", "states": ["present", "absent"],
                        "rules": [{"when": {"supply": "absent"}, "state": "absent"},
                                  {"when": {"output": "off"}, "state": "absent"}, {"state": "present"}]},
            "call": {"title": "Call", "states": ["yes", "no"],
                     "rules": [{"when": {"supply": "absent"}, "state": "no"}, {"state": "yes"}]},
        },
        "tests": {"look": {"title": "Look at the tap", "reveals": "tap", "outcomes": {"open": "otherwise", "shut": ["shut"]}, **work}},
        "remedies": {"switch_on": {"title": "Switch on", "minutes": 1},
                     "replace_board": {"title": "Replace the board", "minutes": 20}},
    }


@pytest.fixture(scope="module", params=BUILDS, ids=lambda build: "-".join(filter(None, build)))
def built(request: pytest.FixtureRequest) -> tuple[dict[str, Any], CompiledModel]:
    name, choice, value = request.param
    document = machine(SHIPPED[name], choice, value)
    if "board_remedy" not in SHIPPED[name].parameters:
        del document["remedies"]["replace_board"]
    return document, compile_model(load_data(document))


def test_every_test_tells_something(built: tuple[dict[str, Any], CompiledModel]) -> None:
    model = built[1]
    worth = {g.about: g.causes for g in gains(believe(model))}
    assert {name: bits for name, bits in worth.items() if bits < 1e-4} == {}


def test_every_failure_mode_of_the_module_is_told_from_its_neighbours_or_mended_with_them(
    built: tuple[dict[str, Any], CompiledModel],
) -> None:
    equipment = built[1].equipment
    shown: dict[str, list[str]] = {}
    print(equipment, shown)


def test_every_hazard_has_precautions_and_live_work_a_licence_or_low_voltage(
    built: tuple[dict[str, Any], CompiledModel],
) -> None:
    equipment = built[1].equipment
    for job in [*equipment.tests.values(), *equipment.remedies.values()]:
        assert set(job.hazards) <= set(equipment.hazards)
        assert all(equipment.hazards[h].precautions for h in job.hazards)
