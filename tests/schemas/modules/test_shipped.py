"""The shipped modules, in every build: sound, with nothing invisible and no test that tells nothing."""

from __future__ import annotations

from itertools import combinations
from typing import Any

import pytest

from graph.equipment import Equipment, Observation, Remedy
from schemas.document import Document
from schemas.load import load_data, written_out
from schemas.modules.library import Module, shipped
from tests.graph.counting import Counting, Possibility

SHIPPED = {name: shipped().module(name) for name in shipped().ids}
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
    board = {"replace_board": {"title": "Replace the board", "minutes": 20}} if "board_remedy" in given else {}
    switch = {"failure_modes": {"off": {"title": "Off", "calls_per_thousand": 20, "remedies": ["switch_on"]}}}
    return {
        "format": 1,
        "equipment": {"id": "bench", "title": "Test bench", "category": "bench", "most_faults": 1,
                      "two_faults_in_100": 0},
        "modules": {"it": {
            "module": module.id, "with": told,
            "parts": {part: {"number": f"T-{i}"} for i, part in enumerate(module.sections["parts"])},
        }},
        "unit_states": {
            "power": {
                "title": "Power", "states": ["energised", "isolated"], "usual": "energised", "lockout": "isolated",
            },
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
        "tests": {"look": {
            "title": "Look at the tap", "reveals": "tap", "minutes": 1, "needs": {"power": "any"},
            "outcomes": {"open": "otherwise", "shut": ["shut"]},
        }},
        "remedies": {"switch_on": {"title": "Switch on", "minutes": 1}, **board},
    }


Built = tuple[Counting, Equipment]


@pytest.fixture(scope="module", params=BUILDS, ids=lambda build: "-".join(filter(None, build)))
def built(request: pytest.FixtureRequest) -> Built:
    name, choice, value = request.param
    document = machine(SHIPPED[name], choice, value)
    full = written_out(Document.model_validate(document)).model_dump(mode="json", exclude_unset=True)
    return Counting(full), load_data(document)


def rows(counting: Counting) -> dict[str, dict[str, tuple[float, ...]]]:
    """Test: failure mode (or `nothing`): the chance of each outcome."""
    cases = {"nothing": frozenset[str](), **{mode: frozenset({mode}) for mode in counting.modes}}
    return {
        name: {
            case: tuple(counting.once(test, Possibility(faults, (), 1.0)).get(o, 0.0) for o in counting.outcomes(test))
            for case, faults in cases.items()
        } for name, test in counting.observations.items()
    }


def test_every_test_tells_some_cause_from_another(built: Built) -> None:
    assert [name for name, of in rows(built[0]).items() if len(set(of.values())) == 1] == []


def test_every_failure_mode_shows_in_some_test(built: Built) -> None:
    told = rows(built[0])
    own = [m for m in built[0].modes if m.startswith("it_")]
    assert [m for m in own if all(of[m] == of["nothing"] for of in told.values())] == []


def test_modes_that_ask_for_different_repairs_are_told_apart_by_some_test(built: Built) -> None:
    counting, equipment = built
    told = rows(counting)
    alike = [
        (one, other) for one, other in combinations(counting.modes, 2)
        if "switch_on" not in (*equipment.modes[one].remedies, *equipment.modes[other].remedies)
        and equipment.modes[one].remedies != equipment.modes[other].remedies
        and all(of[one] == of[other] for of in told.values())
    ]
    assert alike == []


def test_every_state_of_a_signal_can_come_up(built: Built) -> None:
    counting, equipment = built
    sets = [frozenset[str](), *(frozenset({m}) for m in counting.modes)]
    never = {
        f"{name}: {state}" for name, signal in equipment.signals.items() for state in signal.states
        if name.startswith("it_") and all(counting.state(name, faults, ()) != state for faults in sets)
    }
    assert never == set()


@pytest.mark.parametrize(("name", "parameter", "jobs"), [
    ("contactor-heater", "drained", {"it_look_element", "it_replace_element", "it_descale_element"}),
    ("contactor-heater", "reset_wipes", {"it_breaker_watch"}),
    ("hermetic-compressor", "reset_wipes", {"it_breaker_watch"}),
])
def test_what_work_drains_or_resets_is_looked_at_first(name: str, parameter: str, jobs: set[str]) -> None:
    document = machine(SHIPPED[name], "", "")
    assert disturbing(load_data(document), "supply") == set()
    document["modules"]["it"]["with"][parameter] = ["supply"]
    assert disturbing(load_data(document), "supply") == jobs


def disturbing(equipment: Equipment, name: str) -> set[str]:
    """The tests and remedies after which a signal or component can't be looked at any more."""
    jobs: list[Observation | Remedy] = [*equipment.tests.values(), *equipment.remedies.values()]
    return {job.id for job in jobs if name in job.disturbs}


def test_a_repair_is_proved_by_a_test_that_sees_what_it_mends(built: Built) -> None:
    counting, equipment = built
    told = rows(counting)
    blind = {
        (remedy, mode) for mode, record in equipment.modes.items() for remedy in record.remedies
        if remedy.startswith("it_") and told[equipment.remedies[remedy].verify or ""][mode]
        == told[equipment.remedies[remedy].verify or ""]["nothing"]
    }
    assert blind == set()


def test_live_work_carries_its_hazard_and_resistance_is_measured_isolated(built: Built) -> None:
    equipment = built[1]
    jobs: list[Observation | Remedy] = [*equipment.tests.values(), *equipment.remedies.values()]
    for job in jobs:
        needs = dict(job.needs)
        if needs.get("electrics_cover") == "off":
            assert "mains_voltage" in job.hazards or "moving_fan" in job.hazards, job.id
        reading = job.reading if isinstance(job, Observation) else None
        if reading is not None and reading.quantity in ("resistance", "capacitance"):
            assert needs["power"] == "isolated", job.id


def test_no_parameter_is_asked_for_in_vain() -> None:
    for module in SHIPPED.values():
        text = module.source.data
        said = str({k: v for k, v in text.items() if k != "title"})
        assert [n for n in module.shape.parameters if f"${n}" not in said and f"${{{n}}}" not in said
                and not module.shape.parameters[n].choices] == [], module.id
