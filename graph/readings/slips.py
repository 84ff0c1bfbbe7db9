"""The slip that would make a reading fit: another unit than the one that was written, or another circumstance.

Only a reading that fits no state is looked at. A slip's score is how usual that slip is, times how well the number
would then fit the states that are likely; the best one is named.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from graph.errors import HalfsplitError
from graph.readings.likelihood import Outlook, ambient_pressure, outlook
from graph.readings.quantities import QUANTITIES, Unit, base_unit, convert, units_of
from graph.readings.records import Reading, Taken

COMMON = {
    frozenset(pair) for pair in (
        ("°C", "°F"), ("Ω", "kΩ"), ("kΩ", "MΩ"), ("A", "mA"), ("V", "mV"), ("bar", "psi"), ("kPa", "bar"),
        ("psi", "kPa"), ("µF", "nF"), ("g", "kg"), ("kg", "lb"), ("min", "s"), ("K", "Δ°F"), ("l/min", "gal/min"),
        ("kg/d", "lb/d"), ("l/min", "l/h"), ("l/min", "l/s"),
    )
}
"""Units that are often taken for one another (common practice, no source)."""
USUAL, ODD = 1.0, 0.1
"""How usual a slip between common and other pairs is, against one another."""
KIND = 0.5
"""The same for gauge and absolute pressure taken for one another, in the right unit."""
INPUT = 0.4
"""The same for a circumstance in another unit."""
GOOD = 1.0
"""A slip is named where the number would then be at least as likely in some state as anything else."""


@dataclass(frozen=True, slots=True)
class Slip:
    """A likely slip: what was probably meant, and the values that the reading then has.

    `value` is in the reading's unit, `at` the circumstances that change.
    """

    sentence: str
    value: float
    at: tuple[tuple[str, float], ...] = ()


def likeliest_slip(reading: Reading, taken: Taken, shares: Sequence[float]) -> Slip | None:
    """The slip that best makes a reading fit; None where none does. `shares` are the chances of the states."""
    at = dict(taken.at)
    look = outlook(reading, at)
    found: list[tuple[float, str, Slip]] = []
    for weight, slip in _other_units(reading, taken, at):
        found.append((weight * _score(look, slip.value, shares), slip.sentence, slip))
    for slip in _other_circumstances(reading, taken):
        try:
            look = outlook(reading, at | dict(slip.at))
        except HalfsplitError:
            continue
        found.append((INPUT * _score(look, taken.value, shares), slip.sentence, slip))
    best = max(found, key=lambda f: (f[0], f[1]), default=None)
    return None if best is None or best[0] <= 0 else best[2]


def _score(look: Outlook, x: float, shares: Sequence[float]) -> float:
    """How well x fits the states, each by its share; 0 where it fits none."""
    if look.best_fit(x) < GOOD:
        return 0.0
    fits = look.fits(x)
    return sum((share + 1e-3) * fit for share, fit, k in zip(shares, fits, look.place, strict=True) if k >= 0)


def _other_units(reading: Reading, taken: Taken, at: Mapping[str, float]) -> list[tuple[float, Slip]]:
    """The same number in each other unit that it could have been read in."""
    kinds = [reading.quantity]
    if reading.quantity.startswith("pressure"):
        kinds = ["pressure_gauge", "pressure_absolute"]
    candidates = [u for kind in kinds for u in units_of(kind)]
    found = []
    for unit in candidates:
        value = _in_reading_unit(reading, taken.given, unit, at)
        if unit is taken.unit or abs(value - taken.value) <= 1e-9 * abs(taken.value):
            continue
        weight = _weight(taken.unit, unit)
        said = f"{taken.given:g} {unit.symbol}, not {taken.unit.symbol}"
        found.append((weight, Slip(f"read as {said}, it fits", value)))
    return found


def _in_reading_unit(reading: Reading, given: float, unit: Unit, at: Mapping[str, float]) -> float:
    if unit.quantity == reading.quantity:
        return convert(given, unit, reading.unit)
    pascal = convert(given, unit, base_unit(unit.quantity))
    ambient = ambient_pressure(reading, at)
    pascal += ambient if unit.quantity == "pressure_gauge" else -ambient
    return convert(pascal, base_unit(reading.quantity), reading.unit)


def _plain(unit: Unit) -> str:
    """The unit without its word for gauge or absolute."""
    return unit.symbol.split(" ")[0] if unit.quantity.startswith("pressure") else unit.symbol


def _weight(given: Unit, meant: Unit) -> float:
    same_kind = given.quantity == meant.quantity
    if _plain(given) == _plain(meant):
        return KIND
    weight = USUAL if frozenset((_plain(given), _plain(meant))) in COMMON else ODD
    return weight if same_kind else weight * KIND / 2


def _other_circumstances(reading: Reading, taken: Taken) -> list[Slip]:
    """Each circumstance that was given, in each other unit of its quantity."""
    found = []
    for name, value in taken.at:
        circumstance = reading.circumstance(name)
        for unit in units_of(circumstance.unit.quantity):
            meant = convert(value, unit, circumstance.unit)
            if unit is circumstance.unit or meant == value or _weight(circumstance.unit, unit) < USUAL:
                continue
            title = QUANTITIES[unit.quantity].title
            said = f"with {circumstance.title.lower()} as {value:g} {unit.symbol}"
            found.append(Slip(f"{said} ({title} in {circumstance.unit.symbol} is asked for), it fits",
                              taken.value, ((name, meant),)))
    return found
