"""How likely a reading is in each state, against what an instrument may show anyhow.

In a state a reading is, with chance 1 - w, what is expected there; with chance w it is whatever else: from the broad
density, or (as often) what one of the states would have shown. That density of everything is the reference q; what
counts is the ratio (1 - w) f / q + w. It is never below w and never above 2 S (1 - w) + w for S states: one number
never settles a case alone, and numbers that differ by a rounding can't turn it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import log, sqrt

from graph.errors import FindingMisfit
from graph.readings.curves import CURVES
from graph.readings.densities import Above, Band, Bell, Broad, Density
from graph.readings.quantities import QUANTITIES, STANDARD_ATMOSPHERE, base_unit, convert
from graph.readings.records import CurveUse, Expected, Reading

LEAST_WRONG = 1e-4
"""No instrument and nobody who reads it is more trusted than this."""
SOFT = 0.03
"""A written band is a rule of thumb: its edges are as soft as this share of its width (open to above: of its edge)."""
HALF = 0.5
"""Share of the reference that is broad."""


@dataclass(frozen=True, slots=True, eq=False)
class Outlook:
    """What a reading may be under given circumstances.

    `known` are the densities of states that have one, `place` says for each state which of them (-1: none).
    `wrong` is the chance of a number that is not of the state.
    """

    known: tuple[Density, ...]
    place: tuple[int, ...]
    broad: Broad
    wrong: float

    def density(self, state: int) -> Density | None:
        """The density of one state, by its number."""
        return None if self.place[state] < 0 else self.known[self.place[state]]

    def reference(self, x: float) -> float:
        """The density of everything."""
        return HALF * self.broad.at(x) + (1 - HALF) * sum(d.at(x) for d in self.known) / len(self.known)

    def fits(self, x: float) -> list[float]:
        """For each state, the ratio of its density to the reference."""
        own = [d.at(x) for d in self.known]
        broad = self.broad.at(x)
        q = HALF * broad + (1 - HALF) * sum(own) / len(own)
        if q < 1e-290:
            return [1.0] * len(self.place)
        return [(own[k] if k >= 0 else broad) / q for k in self.place]

    def log_ratios(self, x: float) -> list[float]:
        """For each state, the log-likelihood of x against the reference."""
        return [log((1 - self.wrong) * fit + self.wrong) for fit in self.fits(x)]

    def best_fit(self, x: float) -> float:
        """The best ratio of a state that has a density."""
        own = [d.at(x) for d in self.known]
        q = HALF * self.broad.at(x) + (1 - HALF) * sum(own) / len(own)
        return max(own) / q if q >= 1e-290 else 0.0

    def fits_any(self, x: float) -> bool:
        """Whether x is sooner a reading of some state than a slip, by the states that are known."""
        return (1 - self.wrong) * self.best_fit(x) >= self.wrong


def instrument_spread(reading: Reading, value: float) -> float:
    """The standard uncertainty of an instrument that is right within limits: limits / sqrt 3.

    An even chance within limits, JCGM 100:2008 (GUM), 4.3.7.
    """
    return (reading.percent * abs(value) + reading.counts * reading.step) / sqrt(3)


def outlook(reading: Reading, at: Mapping[str, float] | None = None, rough: bool = False) -> Outlook:
    """The densities of a reading under circumstances `at` (the usual ones where left out).

    `rough` spares the exact properties of refrigerants. Raises FindingMisfit outside the table of a curve.
    """
    said = at or {}
    records = {id(e): e for e in reading.expected if e is not None}
    number = {key: i for i, key in enumerate(records)}
    known = tuple(_density(reading, e, said, rough) for e in records.values())
    if not known:
        raise FindingMisfit("no state has an expected reading", expected="one at least")
    place = tuple(-1 if e is None else number[id(e)] for e in reading.expected)
    return Outlook(known, place, _broad(reading, known), max(reading.wrong, LEAST_WRONG))


@lru_cache(maxsize=2048)
def look_at(reading: Reading, at: tuple[tuple[str, float], ...]) -> Outlook:
    """The same, kept for the next who asks."""
    return outlook(reading, dict(at))


def centre(reading: Reading, expected: Expected, at: Mapping[str, float], rough: bool = False) -> tuple[float, float]:
    """The value at the centre of what is expected, and its standard uncertainty by the circumstances."""
    if expected.curve is None:
        assert expected.value is not None
        return expected.value, 0.0
    values = {c.id: at.get(c.id, c.usual) for c in reading.circumstances}
    value = curve_value(reading, expected.curve, values, rough)
    square = 0.0
    for c in reading.circumstances:
        limit = c.accuracy if c.id in at else max(c.accuracy, c.varies)
        if limit > 0 and any(name == c.id for _, name in expected.curve.inputs):
            moved = curve_value(reading, expected.curve, {**values, c.id: values[c.id] + limit}, True)
            still = curve_value(reading, expected.curve, values, True)
            square += (moved - still) ** 2 / 3
    return value, sqrt(square)


def curve_value(reading: Reading, use: CurveUse, values: Mapping[str, float], rough: bool = False) -> float:
    """A curve's value in the reading's unit; gauge and absolute are turned into one another by the ambient pressure."""
    curve = CURVES[use.curve]
    ambient = ambient_pressure(reading, values)
    numbers = dict(use.numbers)
    for parameter, name in use.inputs:
        circumstance = reading.circumstance(name)
        number = convert(values[name], circumstance.unit, base_unit(circumstance.unit.quantity))
        wanted = curve.parameter(parameter)
        assert wanted is not None
        if circumstance.unit.quantity == "pressure_gauge" and wanted.quantity == "pressure_absolute":
            number += ambient
        numbers[parameter] = number
    value = curve(numbers, dict(use.words), rough)
    if curve.gives == "pressure_absolute" and reading.quantity == "pressure_gauge":
        value -= ambient
    return convert(value, base_unit(reading.quantity), reading.unit)


def ambient_pressure(reading: Reading, values: Mapping[str, float]) -> float:
    """Pa: what was said of the pressure around, or the standard atmosphere."""
    if reading.ambient is None:
        return STANDARD_ATMOSPHERE
    circumstance = reading.circumstance(reading.ambient)
    value = values.get(reading.ambient, circumstance.usual)
    return convert(value, circumstance.unit, base_unit(circumstance.unit.quantity))


def _density(reading: Reading, expected: Expected, at: Mapping[str, float], rough: bool) -> Density:
    if expected.value is None and expected.curve is None:
        return _written(reading, expected.low, expected.high, 0.0)
    value, by_circumstance = centre(reading, expected, at, rough)
    own = sqrt(instrument_spread(reading, value) ** 2 + by_circumstance**2)
    if expected.factor is not None:
        ends = sorted(value * factor for factor in expected.factor)
        return _written(reading, ends[0], ends[1], own)
    if expected.offset is not None:
        return _written(reading, value + expected.offset[0], value + expected.offset[1], own)
    tolerance = expected.tolerance + expected.fraction * abs(value)
    return Bell(value, max(sqrt((tolerance / 2) ** 2 + own**2), 1e-9 * max(abs(value), 1.0)))


def _written(reading: Reading, low: float | None, high: float | None, own: float) -> Density:
    """A band; `own` is the uncertainty of where it lies."""
    if high is None:
        assert low is not None
        return Above(low, sqrt((SOFT * low) ** 2 + instrument_spread(reading, low) ** 2 + own**2))
    if low is None:
        least = QUANTITIES[reading.quantity].least
        low = 0.0 if least is None else convert(least, base_unit(reading.quantity), reading.unit) if least else 0.0
    meter = max(instrument_spread(reading, low), instrument_spread(reading, high))
    spread = sqrt((SOFT * (high - low)) ** 2 + meter**2 + own**2)
    return Band(low, high, max(spread, 1e-9 * max(abs(high), 1.0)))


def _broad(reading: Reading, densities: Sequence[Density]) -> Broad:
    """What may be read whatever the state: to ten times of what any state shows, or as far again to both sides."""
    ends = [e for d in densities for e in (d.low, d.high) if abs(e) < float("inf")]
    least, most = min(ends), max(ends)
    finest = min(d.spread for d in densities)
    if QUANTITIES[reading.quantity].ratio:
        top = max(10 * most, 1000 * finest, *(100 * d.low for d in densities if d.high == float("inf")), 0.0)
        return Broad(0.0, top, max(finest, 1e-9 * top))
    span = max(most - least, 20 * finest)
    return Broad(least - span, most + span, max(span / 4, max(abs(least), abs(most)) / 4))
