"""The quantities and units that a reading may have, and nothing else.

Codes at the boundary are UCUM (*The Unified Code for Units of Measure*, version 2.1), beside them the spellings that
the trade writes. UCUM has no gauge pressure; an annotation says it (`bar{gauge}`), which UCUM allows anywhere.
Conversion is pint's, in a registry that knows the units listed here alone: text from outside is looked up in a table
and never parsed. Gauge and absolute pressure, temperature and temperature difference are different quantities.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from graph.errors import UnitMisfit, UnknownName, nearest_name

if TYPE_CHECKING:
    import pint

STANDARD_ATMOSPHERE = 101_325.0
"""Pa; what ambient pressure is taken to be where nobody says (ISO 2533 at sea level)."""
LONGEST = 32
"""Characters of a unit; longer text is no unit."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """What is measured. `base` is its coherent unit, `least` the smallest value there is, in it (None: no such).

    `ratio` says that values are compared by their quotient: a resistance may be anything from milliohms to megohms.
    """

    id: str
    title: str
    base: str
    least: float | None = 0.0
    ratio: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class Unit:
    """A unit of one quantity: as shown, its UCUM code, other spellings, and its definition for pint.

    There is one record of each, so that it is itself and no other.
    """

    symbol: str
    quantity: str
    ucum: str
    spellings: tuple[str, ...]
    definition: str


QUANTITIES = {q.id: q for q in (
    Quantity("voltage", "voltage", "volt"),
    Quantity("current", "current", "ampere"),
    Quantity("resistance", "resistance", "ohm"),
    Quantity("temperature", "temperature", "kelvin", 0.0, False),
    Quantity("temperature_difference", "temperature difference", "kelvin", None, False),
    Quantity("pressure_gauge", "gauge pressure", "pascal", -STANDARD_ATMOSPHERE, False),
    Quantity("pressure_absolute", "absolute pressure", "pascal"),
    Quantity("flow", "volume flow", "meter**3/second"),
    Quantity("mass", "mass", "kilogram"),
    Quantity("mass_rate", "mass in a time", "kilogram/second"),
    Quantity("time", "time", "second"),
    Quantity("capacitance", "capacitance", "farad"),
    Quantity("frequency", "frequency", "hertz"),
    Quantity("power", "power", "watt"),
    Quantity("energy", "energy", "joule"),
    Quantity("energy_per_mass", "energy for a mass", "joule/kilogram"),
)}

_BASES = (
    "meter = [length]", "kilogram = [mass]", "second = [time]", "ampere = [current]", "kelvin = [temperature]",
    "newton = kilogram*meter/second**2", "pascal = newton/meter**2", "joule = newton*meter", "watt = joule/second",
    "volt = watt/ampere", "ohm = volt/ampere", "farad = ampere*second/volt", "hertz = 1/second",
)
_POUND, _INCH = 0.45359237, 0.0254
_PSI = f"{_POUND * 9.80665 / _INCH**2!r} * pascal"


def _pressures() -> Iterable[Unit]:
    kinds = (
        ("pressure_gauge", "gauge", "g", ("gauge", "rel", "gage")), ("pressure_absolute", "absolute", "a", ("abs",)),
    )
    rows = (
        ("Pa", "Pa", (), "1 * pascal"), ("hPa", "hPa", (), "100 * pascal"), ("kPa", "kPa", (), "1000 * pascal"),
        ("MPa", "MPa", (), "1e6 * pascal"), ("mbar", "mbar", (), "100 * pascal"), ("bar", "bar", (), "1e5 * pascal"),
        ("psi", "[psi]", ("lb/in²", "lbf/in²"), _PSI), ("mmHg", "mm[Hg]", ("torr",), "133.322387415 * pascal"),
        ("inHg", "[in_i'Hg]", ('"Hg',), f"{133.322387415 * 25.4!r} * pascal"),
    )
    for symbol, code, names, definition in rows:
        for quantity, word, letter, others in kinds:
            said = (word, *others)
            spelt = [f"{n}{tail}" for n in (symbol, *names) for tail in (
                "", letter, f"({letter})", f"_{letter}", *(f" {w}" for w in said), *(f"({w})" for w in said),
            )]
            yield Unit(f"{symbol} {word}", quantity, f"{code}{{{word}}}", (code, *spelt), definition)


_UNITS: tuple[Unit, ...] = (
    Unit("V", "voltage", "V", ("volt", "volts", "VAC", "VDC", "V AC", "V DC"), "1 * volt"),
    Unit("mV", "voltage", "mV", ("millivolt", "millivolts"), "1e-3 * volt"),
    Unit("kV", "voltage", "kV", ("kilovolt", "kilovolts"), "1000 * volt"),
    Unit("A", "current", "A", ("amp", "amps", "ampere", "amperes"), "1 * ampere"),
    Unit("mA", "current", "mA", ("milliamp", "milliamps"), "1e-3 * ampere"),
    Unit("µA", "current", "uA", ("microamp", "microamps"), "1e-6 * ampere"),
    Unit("Ω", "resistance", "Ohm", ("ohm", "ohms", "R"), "1 * ohm"),
    Unit("mΩ", "resistance", "mOhm", ("milliohm", "milliohms", "mohm"), "1e-3 * ohm"),
    Unit("kΩ", "resistance", "kOhm", ("kilohm", "kilohms", "kiloohm", "kohm", "kohms", "k", "K ohm"), "1000 * ohm"),
    Unit("MΩ", "resistance", "MOhm", ("megohm", "megohms", "megaohm", "Mohm", "M"), "1e6 * ohm"),
    Unit("GΩ", "resistance", "GOhm", ("gigohm", "gigaohm", "Gohm"), "1e9 * ohm"),
    Unit("°C", "temperature", "Cel", ("degC", "C", "celsius", "deg C", "ºC"), "1 * kelvin; offset: 273.15"),
    Unit("°F", "temperature", "[degF]", ("degF", "F", "fahrenheit", "deg F", "ºF"),
         f"{5 / 9!r} * kelvin; offset: {459.67 * 5 / 9!r}"),
    Unit("K", "temperature", "K", ("kelvin",), "1 * kelvin"),
    Unit("K", "temperature_difference", "K", ("kelvin", "Δ°C", "delta_degC", "ΔK", "K difference", "°C difference"),
         "1 * kelvin"),
    Unit("Δ°F", "temperature_difference", "[degR]", ("delta_degF", "°F difference", "degF difference"),
         f"{5 / 9!r} * kelvin"),
    *_pressures(),
    Unit("l/min", "flow", "L/min", ("L/min", "lpm", "LPM", "litres/min"), f"{1e-3 / 60!r} * meter**3/second"),
    Unit("l/s", "flow", "L/s", ("L/s",), "1e-3 * meter**3/second"),
    Unit("l/h", "flow", "L/h", ("L/h", "lph"), f"{1e-3 / 3600!r} * meter**3/second"),
    Unit("m³/h", "flow", "m3/h", ("m3/h", "m^3/h"), f"{1 / 3600!r} * meter**3/second"),
    Unit("gal/min", "flow", "[gal_us]/min", ("gpm", "GPM", "US gal/min"), f"{231 * _INCH**3 / 60!r} * meter**3/second"),
    Unit("g", "mass", "g", ("gram", "grams"), "1e-3 * kilogram"),
    Unit("kg", "mass", "kg", ("kilogram", "kilograms", "kilo", "kilos"), "1 * kilogram"),
    Unit("lb", "mass", "[lb_av]", ("lbs", "pound", "pounds"), f"{_POUND!r} * kilogram"),
    Unit("oz", "mass", "[oz_av]", ("ounce", "ounces"), f"{_POUND / 16!r} * kilogram"),
    Unit("kg/d", "mass_rate", "kg/d", ("kg/day", "kg/24 h", "kg/24h"), f"{1 / 86_400!r} * kilogram/second"),
    Unit("kg/h", "mass_rate", "kg/h", (), f"{1 / 3600!r} * kilogram/second"),
    Unit("lb/d", "mass_rate", "[lb_av]/d", ("lb/day", "lb/24 h", "lbs/day"), f"{_POUND / 86_400!r} * kilogram/second"),
    Unit("s", "time", "s", ("sec", "second", "seconds"), "1 * second"),
    Unit("min", "time", "min", ("minute", "minutes"), "60 * second"),
    Unit("h", "time", "h", ("hr", "hour", "hours"), "3600 * second"),
    Unit("µF", "capacitance", "uF", ("microfarad", "microfarads", "mfd", "MFD"), "1e-6 * farad"),
    Unit("nF", "capacitance", "nF", ("nanofarad", "nanofarads"), "1e-9 * farad"),
    Unit("pF", "capacitance", "pF", ("picofarad", "picofarads"), "1e-12 * farad"),
    Unit("mF", "capacitance", "mF", ("millifarad", "millifarads"), "1e-3 * farad"),
    Unit("Hz", "frequency", "Hz", ("hertz", "cycles"), "1 * hertz"),
    Unit("kHz", "frequency", "kHz", ("kilohertz",), "1000 * hertz"),
    Unit("W", "power", "W", ("watt", "watts"), "1 * watt"),
    Unit("kW", "power", "kW", ("kilowatt", "kilowatts"), "1000 * watt"),
    Unit("kWh", "energy", "kW.h", ("kilowatt hours",), "3.6e6 * joule"),
    Unit("Wh", "energy", "W.h", ("watt hours",), "3600 * joule"),
    Unit("MJ", "energy", "MJ", ("megajoule", "megajoules"), "1e6 * joule"),
    Unit("kWh/kg", "energy_per_mass", "kW.h/kg", (), "3.6e6 * joule/kilogram"),
    Unit("kWh/100 kg", "energy_per_mass", "kW.h/(100.kg)", ("kWh/100kg",), "3.6e4 * joule/kilogram"),
    Unit("kWh/100 lb", "energy_per_mass", "kW.h/(100.[lb_av])", ("kWh/100lb",),
         f"{3.6e4 / _POUND!r} * joule/kilogram"),
)
UNITS = _UNITS
"""All units there are."""


def _spelt(text: str) -> str:
    """One way of writing what looks the same: composed, micro and ohm signs as Greek letters, single spaces."""
    return " ".join(unicodedata.normalize("NFKC", text).split())


def _table(fold: bool) -> dict[str, tuple[Unit, ...]]:
    table: dict[str, tuple[Unit, ...]] = {}
    for unit in _UNITS:
        for name in dict.fromkeys(_spelt(n) for n in (unit.symbol, unit.ucum, *unit.spellings)):
            key = name.casefold() if fold else name
            if unit not in table.get(key, ()):
                table[key] = (*table.get(key, ()), unit)
    return table


_EXACT, _FOLDED = _table(False), _table(True)


@lru_cache(maxsize=64)
def units_of(quantity: str) -> tuple[Unit, ...]:
    """The units of one quantity."""
    return tuple(u for u in _UNITS if u.quantity == quantity)


def spelt(text: str) -> tuple[Unit, ...]:
    """The units that a text can mean: as written, else without regard to capitals where only one unit a quantity
    is spelt so (`mohm` and `Mohm` are two).
    """
    if len(text) > LONGEST:
        return ()
    name = _spelt(text)
    if name in _EXACT:
        return _EXACT[name]
    found = _FOLDED.get(name.casefold(), ())
    return found if len({u.quantity for u in found}) == len(found) else ()


def unit_of(text: str, quantity: str, pointer: str = "") -> Unit:
    """The unit of a quantity that a text means.

    A pressure without a word for it has the kind that is asked for. Raises UnknownName for what is no unit here, with
    the nearest of this quantity, and UnitMisfit for a unit of another quantity.
    """
    found = spelt(text)
    asked = QUANTITIES[quantity]
    for unit in found:
        if unit.quantity == quantity:
            return unit
    valid = [u.symbol for u in units_of(quantity)]
    if not found:
        refused = UnknownName(f"unit of {asked.title}", text, valid, pointer=pointer)
        refused.nearest = nearest_unit(text, quantity)
        raise refused
    other = QUANTITIES[found[0].quantity]
    raise UnitMisfit(
        f"{text!r} is a unit of {other.title}, and a {asked.title} is asked for", pointer=pointer,
        expected=f"a unit of {asked.title}: {', '.join(valid)}",
    )


def nearest_unit(text: str, quantity: str) -> str | None:
    """The symbol of the unit of a quantity with the spelling that is most like a text."""
    names = {n: u.symbol for u in units_of(quantity) for n in (u.symbol, u.ucum, *u.spellings)}
    near = nearest_name(text, names)
    return None if near is None else names[near]


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[Any]:
    import pint  # a tenth of a second that a machine without readings need not wait for

    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(None, autoconvert_offset_to_baseunit=False)
    for line in _BASES:
        registry.define(line)
    for i, unit in enumerate(_UNITS):
        registry.define(f"u{i} = {unit.definition}")
    return registry


@lru_cache(maxsize=1024)
def _affine(origin: Unit, target: Unit) -> tuple[float, float]:
    """Scale and zero that turn a value of one unit into one of the other; pint says what they are."""
    registry = _registry()
    one, other = (f"u{_UNITS.index(unit)}" for unit in (origin, target))

    def turned(value: float) -> float:
        return float(registry.Quantity(value, one).to(other).magnitude)

    zero = turned(0.0)
    return turned(1.0) - zero, zero


def convert(value: float, origin: Unit, target: Unit) -> float:
    """A value in another unit of the same quantity. Raises UnitMisfit where the quantity is another."""
    if origin.quantity != target.quantity:
        raise UnitMisfit(
            f"{origin.symbol} does not turn into {target.symbol}: {QUANTITIES[origin.quantity].title} is not "
            f"{QUANTITIES[target.quantity].title}", expected=f"a unit of {QUANTITIES[target.quantity].title}",
        )
    if origin is target:
        return value
    scale, zero = _affine(origin, target)
    return value * scale + zero


@lru_cache(maxsize=64)
def base_unit(quantity: str) -> Unit:
    """The unit in which curves give and take a quantity: coherent SI, but °C for temperatures."""
    return next(u for u in _UNITS if u.quantity == quantity and u.symbol in _PLAIN)


_PLAIN = {
    "V", "A", "Ω", "°C", "K", "Pa gauge", "Pa absolute", "l/min", "kg", "kg/d", "s", "µF", "Hz", "W", "kWh", "kWh/kg",
}


def figure(value: float, digits: int = 3) -> str:
    """A number for people, with so many digits that tell something."""
    if value == 0:
        return "0"
    text = f"{value:.{digits}g}"
    number = float(text)
    return f"{number:.0f}" if abs(number) >= 10**digits else f"{number:.{max(0, digits - 1 - _decade(number))}f}"


def _decade(number: float) -> int:
    return int(f"{abs(number):e}".split("e")[1])
