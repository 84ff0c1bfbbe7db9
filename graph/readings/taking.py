"""A number as somebody gave it, checked against what the test reads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite

from graph.errors import FindingMisfit, HalfsplitError, UnitMisfit, UnknownName
from graph.readings.likelihood import Outlook, ambient_pressure, look_at
from graph.readings.quantities import QUANTITIES, Unit, base_unit, convert, figure, spelt, unit_of
from graph.readings.records import Reading, Taken

_OTHER_KIND = {"pressure_gauge": "pressure_absolute", "pressure_absolute": "pressure_gauge"}
MOST = 1e15
"""No instrument shows more, in whatever unit."""


@dataclass(frozen=True, slots=True)
class Given:
    """A reading as it was given: value, the unit's text, circumstances in their own units."""

    value: float
    unit: str
    at: Mapping[str, float] = field(default_factory=dict)


def taken(reading: Reading, given: Given, pointer: str = "") -> Taken:
    """The number in the reading's unit.

    Absolute pressure is turned into gauge pressure, and the other way round, by the pressure around, where the unit
    says which it is. Raises UnknownName for units and circumstances, UnitMisfit for another quantity or a value below
    the least there is, FindingMisfit for what is no number or outside of a curve's table.
    """
    for name, value in (("value", given.value), *((f"at/{n}", v) for n, v in given.at.items())):
        if not isfinite(value) or abs(value) > MOST:
            raise FindingMisfit("a reading must be a number that an instrument can show", pointer=f"{pointer}/{name}",
                                expected="a number")
    names = [c.id for c in reading.circumstances]
    for name, value in given.at.items():
        if name not in names:
            raise UnknownName("circumstance of this reading", name, names, pointer=f"{pointer}/at/{name}")
        least = QUANTITIES[reading.circumstance(name).unit.quantity].least
        unit = reading.circumstance(name).unit
        if least is not None and convert(value, unit, base_unit(unit.quantity)) < _floor(unit.quantity, least) - 1e-6:
            raise UnitMisfit(f"there is no {QUANTITIES[unit.quantity].title} of {figure(value)} {unit.symbol}",
                             pointer=f"{pointer}/at/{name}")
    at = tuple(sorted(given.at.items()))
    found = _converted(reading, given, dict(at), pointer)
    try:
        look_at(reading, at)
    except HalfsplitError as error:
        raise FindingMisfit(error.detail, pointer=f"{pointer}/at", expected=error.expected) from None
    return Taken(found[0], given.value, found[1], at)


def _floor(quantity: str, least: float) -> float:
    """The least value in the unit of `base_unit`: absolute zero in °C."""
    return least - 273.15 if quantity == "temperature" else least


def _converted(reading: Reading, given: Given, at: Mapping[str, float], pointer: str) -> tuple[float, Unit]:
    where = f"{pointer}/unit"
    kinds = {u.quantity for u in spelt(given.unit)}
    other = _OTHER_KIND.get(reading.quantity)
    if other in kinds and reading.quantity not in kinds:
        unit = unit_of(given.unit, other, where)
        ambient = ambient_pressure(reading, at)
        pascal = convert(given.value, unit, base_unit(other)) + (ambient if other == "pressure_gauge" else -ambient)
        value = convert(pascal, base_unit(reading.quantity), reading.unit)
    else:
        unit = unit_of(given.unit, reading.quantity, where)
        value = convert(given.value, unit, reading.unit)
    least = QUANTITIES[reading.quantity].least
    base = convert(value, reading.unit, base_unit(reading.quantity))
    if least is not None and base < _floor(reading.quantity, least) - 1e-6 * max(1.0, abs(least)):
        raise UnitMisfit(f"there is no {QUANTITIES[reading.quantity].title} of {figure(given.value)} {unit.symbol}",
                         pointer=f"{pointer}/value", expected=f"a {QUANTITIES[reading.quantity].title} that exists")
    return value, unit


def likeliest_state(reading: Reading, number: Taken, look: Outlook) -> int:
    """The state that a reading fits best, by its number; where it fits none, the nearest."""
    if look.fits_any(number.value):
        fits = look.fits(number.value)
        return max(range(len(fits)), key=lambda s: (fits[s], -s))
    known = [s for s, k in enumerate(look.place) if k >= 0]
    return min(known, key=lambda s: (abs(look.known[look.place[s]].off(number.value)), s))
