"""What a caller said, as the core takes it: findings and who asks, held against one machine's names."""

from __future__ import annotations

from collections.abc import Iterable

from graph.compile import CompiledModel
from graph.context import Asker
from graph.equipment import Equipment
from graph.errors import UnknownName
from graph.evidence import Finding, finding
from graph.readings.taking import Given as Number
from schemas.answers import FindingRecord
from schemas.requests import AskerGiven, FindingGiven

Given = FindingGiven | FindingRecord


def findings_of(model: CompiledModel, given: Iterable[Given], at: str = "") -> tuple[Finding, ...]:
    """Findings as the core takes them."""
    return tuple(
        finding(model, g.about, g.outcome, f"{at}/findings/{i}", _number(g)) for i, g in enumerate(given)
    )


def _number(given: Given) -> Number | None:
    reading = given.reading
    return None if reading is None else Number(reading.value, reading.unit, reading.at)


def asker_of(equipment: Equipment, given: AskerGiven) -> Asker:
    """Who asks. Raises UnknownName for unit states; unknown instruments and parts are left out."""
    for name, state in given.unit_state.items():
        where = f"/asker/unit_state/{name}"
        if name not in equipment.unit_states:
            raise UnknownName("unit state", name, equipment.unit_states, pointer=where)
        states = equipment.unit_states[name].states
        if state not in states:
            raise UnknownName(f"state of {name}", state, states, pointer=where)
    held = None if given.instruments is None else frozenset(given.instruments) & set(equipment.instruments)
    parts = None if given.parts is None else frozenset((p, n) for p, n in given.parts.items() if p in equipment.parts)
    return Asker(given.role, frozenset(given.licences), held, parts, tuple(sorted(given.unit_state.items())))
