"""Units: round trips over every pair, what is never mixed, and text that means harm."""

from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from graph.errors import UnitMisfit, UnknownName
from graph.readings.quantities import QUANTITIES, UNITS, base_unit, convert, figure, spelt, unit_of, units_of
from tests.effort import calls_made

PAIRS = [pair for q in QUANTITIES for pair in permutations(units_of(q), 2)]
FIGURES = st.floats(-1e9, 1e9, allow_nan=False)
HOSTILE = ["9**9**9", "9**9**9*ohm", "__import__('os')", "ohm;" * 5, "(" * 31, "Ω" * 32, "\u0661 V", "degC**2",
           "1e999 V", "kilo" * 8, "[", "V/", "%s%s", "ＶΩ", " ", "", "a" * 100_000, "9" * 100_000]


@given(value=FIGURES)
def test_every_pair_of_units_converts_there_and_back(value: float) -> None:
    for one, other in PAIRS:
        turned = convert(value, one, other)
        assert turned == turned
        zero = abs(convert(0.0, one, other))
        assert convert(turned, other, one) == pytest.approx(value, rel=1e-9, abs=1e-6 * (1 + zero) * 1e-3), (one, other)


@given(low=FIGURES, step=st.floats(1e-3, 1e6))
def test_conversion_keeps_the_order(low: float, step: float) -> None:
    for one, other in PAIRS:
        assert convert(low + step, one, other) >= convert(low, one, other)


def test_every_unit_has_a_code_and_spellings_of_its_own() -> None:
    for unit in UNITS:
        assert unit in spelt(unit.ucum)
        assert unit in spelt(unit.symbol)
        assert unit_of(unit.ucum, unit.quantity) == unit
        for name in unit.spellings:
            assert unit_of(name, unit.quantity) == unit, name
    for quantity in QUANTITIES:
        assert base_unit(quantity).quantity == quantity


@pytest.mark.parametrize(("text", "quantity", "symbol"), [
    ("kΩ", "resistance", "kΩ"), ("k\u2126", "resistance", "kΩ"), ("\u00b5F", "capacitance", "µF"),
    ("\u03bcF", "capacitance", "µF"), ("psig", "pressure_gauge", "psi gauge"),
    ("psia", "pressure_absolute", "psi absolute"), ("bar(g)", "pressure_gauge", "bar gauge"),
    ("bar abs", "pressure_absolute", "bar absolute"), ("PSIG", "pressure_gauge", "psi gauge"),
    ("K", "temperature_difference", "K"), ("K", "temperature", "K"), ("ohms", "resistance", "Ω"),
    ("gpm", "flow", "gal/min"),
])
def test_the_trades_spellings(text: str, quantity: str, symbol: str) -> None:
    assert unit_of(text, quantity).symbol == symbol


@pytest.mark.parametrize(("text", "quantity"), [
    ("psia", "pressure_gauge"), ("bar{gauge}", "pressure_absolute"), ("°C", "temperature_difference"),
    ("Δ°F", "temperature"), ("delta_degC", "temperature"), ("V", "resistance"), ("min", "frequency"),
])
def test_what_is_never_mixed(text: str, quantity: str) -> None:
    with pytest.raises(UnitMisfit) as refused:
        unit_of(text, quantity, "/unit")
    assert refused.value.pointer == "/unit"
    assert refused.value.expected


def test_gauge_does_not_turn_into_absolute() -> None:
    with pytest.raises(UnitMisfit):
        convert(1.0, unit_of("bar{gauge}", "pressure_gauge"), unit_of("bar{absolute}", "pressure_absolute"))
    with pytest.raises(UnitMisfit):
        convert(1.0, unit_of("K", "temperature"), unit_of("K", "temperature_difference"))


def test_an_unknown_unit_names_the_nearest() -> None:
    with pytest.raises(UnknownName) as refused:
        unit_of("kohhm", "resistance")
    assert refused.value.expected is not None and "kΩ" in refused.value.expected


def test_capitals_that_mean_two_units_are_not_guessed() -> None:
    assert {u.symbol for u in spelt("mohm")} == {"mΩ"}
    assert {u.symbol for u in spelt("Mohm")} == {"MΩ"}
    assert spelt("MOHM") == ()


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_looked_up_and_never_parsed(text: str) -> None:
    assert spelt(text) == () or len(text) <= 3
    assert calls_made(lambda: spelt(text)) < 50


@given(text=st.text(max_size=40))
def test_any_text_is_a_unit_or_refused(text: str) -> None:
    for unit in spelt(text):
        assert unit in UNITS


@pytest.mark.parametrize(
    ("value", "text"), [(0, "0"), (26.34, "26.3"), (0.01234, "0.0123"), (1234.5, "1230"), (999.9, "1000")]
)
def test_figures_have_three_digits(value: float, text: str) -> None:
    assert figure(value) == text
