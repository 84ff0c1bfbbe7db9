"""Curves: monotone where physics is, no value that is no number, refusals outside their tables."""

from __future__ import annotations

from contextlib import suppress
from itertools import pairwise
from math import isfinite

import pytest
from hypothesis import given
from hypothesis import strategies as st

from graph.errors import FindingMisfit, UnknownName
from graph.readings.curves import CURVES, ice_share
from graph.readings.refrigerants import (
    REFRIGERANTS,
    SIDES,
    Side,
    saturation_pressure,
    saturation_temperature,
)


@given(data=st.data())
def test_a_curve_has_a_value_or_refuses(data: st.DataObject) -> None:
    curve = CURVES[data.draw(st.sampled_from(sorted(CURVES)))]
    numbers, words = {}, {}
    for p in curve.parameters:
        if p.words:
            words[p.id] = data.draw(st.sampled_from(p.words))
        elif p.default is None or data.draw(st.booleans()):
            numbers[p.id] = data.draw(st.floats(p.least, p.most) | st.floats(allow_nan=False, allow_infinity=False))
    with suppress(FindingMisfit):
        assert isfinite(curve(numbers, words, rough=data.draw(st.booleans())))


@given(ohms=st.floats(100, 1e6), b=st.floats(1000, 5000), low=st.floats(-50, 140), step=st.floats(0.01, 10))
def test_a_thermistor_falls_and_platinum_and_copper_rise(ohms: float, b: float, low: float, step: float) -> None:
    for name, numbers, sign in (
        ("ntc", {"ohms_at_25": ohms, "b": b}, -1), ("platinum", {"ohms_at_0": ohms / 10}, 1),
        ("winding", {"ohms": ohms}, 1),
    ):
        one, other = (CURVES[name]({**numbers, "celsius": t}) for t in (low, low + step))
        assert (other - one) * sign > 0


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("name", REFRIGERANTS)
def test_saturation_rises_and_turns_back_to_a_millikelvin(name: str, side: Side) -> None:
    known = REFRIGERANTS[name]
    span = [known.low + (known.high - known.low) * i / 60 for i in range(61)]
    pressures = [saturation_pressure(name, side, t) for t in span]
    assert all(a < b for a, b in pairwise(pressures))
    for t, p in zip(span[1:-1], pressures[1:-1], strict=True):
        assert saturation_temperature(name, side, p) == pytest.approx(t, abs=1e-3)
    for t in range(-45, min(int(known.high), 60) + 1, 5):
        p = saturation_pressure(name, side, t)
        assert saturation_temperature(name, side, p, rough=True) == pytest.approx(t, abs=0.5)


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_bubble_is_never_under_dew(name: str) -> None:
    for t in range(-40, 56, 5):
        bubble, dew = (saturation_pressure(name, side, t) for side in SIDES)
        assert bubble >= dew * (1 - 1e-9)


def test_outside_of_its_table_a_refrigerant_refuses() -> None:
    with pytest.raises(FindingMisfit):
        saturation_pressure("R-290", "dew", 200)
    with pytest.raises(FindingMisfit):
        saturation_temperature("R-290", "dew", 1e9)
    with pytest.raises(UnknownName) as refused:
        saturation_pressure("R-448", "dew", 0)
    assert refused.value.nearest == "R-448A"


def test_more_heat_less_ice() -> None:
    # warmer water by its heat alone: (333.6 + 4.19 * 12) / (333.6 + 4.19 * 30), by hand
    assert ice_share(20, 30, 20, 12, 0) == pytest.approx(383.88 / 459.3, abs=1e-6)
    shares = [ice_share(air, water, 20, 12, 0.012) for air, water in ((10, 10), (20, 12), (30, 20), (40, 30))]
    assert all(a > b for a, b in pairwise(shares))
    assert shares[1] == 1
