"""Readings in documents: what their authors are told, and that the shipped ones are in order."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest

from graph.errors import DocumentError
from schemas.load import load_data

PROBE: dict[str, Any] = {
    "quantity": "resistance", "unit": "kOhm", "accuracy_percent": 1,
    "at": {"bath": {"title": "Bath", "unit": "Cel", "usual": 0}},
    "expected": {
        "otherwise": {"curve": "ntc", "of": {"ohms_at_25": 10_000, "b": 3435, "celsius": "bath"}},
        "open": {"low": 1000},
    },
}


def document(reading: dict[str, Any], **test: Any) -> dict[str, Any]:
    return {
        "format": 1,
        "equipment": {"id": "probe", "title": "Probe", "category": "test"},
        "components": {"probe": {"title": "Probe", "failure_modes": {
            "open": {"title": "Open", "calls_per_thousand": 30, "remedies": ["swap"]},
            "drifts": {"title": "Drifts", "calls_per_thousand": 60, "remedies": ["swap"]}}}},
        "tests": {"ohms": {"title": "Ohms", "reveals": "probe", "minutes": 4,
                           "outcomes": {"right": "otherwise", "open": ["open"]}, "reading": reading, **test}},
        "remedies": {"swap": {"title": "Swap", "minutes": 10}},
    }


def changed(path: str, value: Any) -> dict[str, Any]:
    """The probe with one thing written otherwise (None: left out)."""
    reading = deepcopy(PROBE)
    *way, last = path.split("/")
    inner = reading
    for step in way:
        inner = inner.setdefault(step, {})
    if value is None:
        del inner[last]
    else:
        inner[last] = value
    return reading


def test_a_reading_in_order_has_no_defect() -> None:
    reading = load_data(document(PROBE)).observations["ohms"].reading
    assert reading is not None
    assert reading.wrong == pytest.approx(0.03)
    assert [e.title if e else None for e in reading.expected] == ["open", "otherwise", "otherwise"]


@pytest.mark.parametrize(("path", "value", "code", "place", "expected", "nearest"), [
    ("quantity", "resistanse", "unknown-name", "/quantity", "a quantity: voltage", "resistance"),
    ("unit", "kohhm", "unknown-name", "/unit", "one of: Ω", "kΩ"),
    ("unit", "Cel", "unit-misfit", "/unit", "a unit of resistance", None),
    ("at/bath/unit", "Celsiuss", "unknown-name", "/at/bath/unit", "a unit", None),
    ("at/bath/unit", "bar", "unit-misfit", "/at/bath/unit", "`quantity`, one of: pressure_gauge", None),
    ("at/bath/quantity", "temprature", "unknown-name", "/at/bath/quantity", "a quantity", "temperature"),
    ("expected/opne", {"low": 1000}, "unknown-name", "/expected/opne", "a state of probe: open", "open"),
    ("expected/open/value", 1200, "reading-form", "/expected/open", "one of: `value`", None),
    ("expected/open/low", -5, "reading-form", "/expected/open", "`high`", None),
    ("expected/open", {"high": -1}, "reading-form", "/expected/open/high", "more than 0", None),
    ("expected/open/high", 500, "reading-form", "/expected/open/low", "the lower first", None),
    ("expected/open/tolerance", 5, "reading-form", "/expected/open/tolerance", "a value or a curve", None),
    ("expected/open/of", {"b": 3}, "reading-form", "/expected/open/of", "`curve`", None),
    ("expected/otherwise/curve", "ntk", "unknown-name", "/expected/otherwise/curve", "a curve: ntc", "ntc"),
    ("expected/otherwise/of/celsius", "bth", "unknown-name", "/expected/otherwise/of/celsius", "a circumstance",
     "bath"),
    ("expected/otherwise/of/kelvin", 3, "unknown-name", "/expected/otherwise/of/kelvin", "a parameter", None),
    ("expected/otherwise/of/b", None, "reading-form", "/expected/otherwise/of", "every parameter", None),
    ("expected/otherwise/of/b", "bath", "unit-misfit", "/expected/otherwise/of/b", "a plain number", None),
    ("expected/otherwise/of/b", 3, "reading-range", "", "500 to 10000", None),
    ("expected/otherwise/of/ohms_at_25", "bath", "unit-misfit", "/expected/otherwise/of/ohms_at_25", "a resistance",
     None),
    ("at/bath/usual", 900, "reading-range", "", "-60 to 300", None),
    ("expected/drifts", {"like": "open"}, "unknown-name", "/expected/drifts/like", "a state with a value", None),
    ("expected/drifts", {"like": "otherwise", "factor": [2, 1]}, "reading-form", "/expected/drifts/factor",
     "the lower first", None),
    ("expected/drifts", {"like": "otherwise", "factor": [1, 2], "offset": [1, 2]}, "reading-form",
     "/expected/drifts/offset", "one of them", None),
    ("expected/drifts", {"curve": "winding", "of": {}}, "reading-form", "/expected/drifts/of", "every parameter", None),
    ("expected/drifts", {"curve": "ice_rate", "of": {"rated": 45}}, "unit-misfit", "/expected/drifts/curve",
     "one that gives resistance", None),
    ("expected/drifts", {"curve": "saturation_temperature", "of": {"refrigerant": "R-291", "pressure": 1e5}},
     "unknown-name", "/expected/drifts/of/refrigerant", "a refrigerant: R-290", "R-290"),
])
def test_what_a_reading_gets_wrong_is_named(
    path: str, value: Any, code: str, place: str, expected: str, nearest: str | None
) -> None:
    with pytest.raises(DocumentError) as refused:
        load_data(document(changed(path, value)))
    found = [d for d in refused.value.defects if d.pointer == f"/tests/ohms/reading{place}" and d.code == code]
    assert found, [d.sentence() for d in refused.value.defects]
    assert expected in found[0].expected
    assert found[0].nearest == nearest


def test_a_reading_of_many_trials_is_refused() -> None:
    with pytest.raises(DocumentError) as refused:
        load_data(document(PROBE, repeats=3))
    assert [d.pointer for d in refused.value.defects] == ["/tests/ohms/repeats"]


@pytest.mark.parametrize(("quantity", "unit", "expected"), [
    ("temperature", "Cel", {"high": 5}), ("temperature_difference", "K", {"high": 5}),
    ("temperature_difference", "K", {"low": -5}),
])
def test_where_nothing_ends_by_nature_both_ends_are_written(
    quantity: str, unit: str, expected: dict[str, float]
) -> None:
    with pytest.raises(DocumentError) as refused:
        load_data(document({"quantity": quantity, "unit": unit, "expected": {"otherwise": expected}}))
    assert {d.code for d in refused.value.defects} == {"reading-form"}
