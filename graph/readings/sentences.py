"""What was read, what was expected and how far off it is, in words."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf

from graph.readings.densities import Bell, Density
from graph.readings.likelihood import Outlook, ambient_pressure, outlook
from graph.readings.quantities import Unit, convert, figure, units_of
from graph.readings.records import Reading, Taken

_SCALED = {"resistance": ("mΩ", "Ω", "kΩ", "MΩ"), "current": ("mA", "A"), "voltage": ("mV", "V"),
           "capacitance": ("pF", "nF", "µF")}
CLOSE = 1.0
"""Spreads within which a reading is called right."""


def amount(value: float, unit: Unit, digits: int = 3) -> str:
    """A value with a unit of handy size: 1000 kΩ is 1 MΩ."""
    shown = _handy(value, unit)
    return f"{figure(convert(value, unit, shown), digits)} {shown.symbol}"


def _handy(value: float, unit: Unit) -> Unit:
    sizes = [u for u in units_of(unit.quantity) if u.symbol in _SCALED.get(unit.quantity, ())]
    if not sizes or value == 0 or 0.1 <= abs(value) < 1000:
        return unit
    fitting = [u for u in sizes if abs(convert(value, unit, u)) >= 0.9995]
    return min(fitting or sizes, key=lambda u: abs(convert(value, unit, u)))


def given_text(reading: Reading, taken: Taken) -> str:
    """The number as it was given, with what was said of circumstances: `4.1 kΩ at 2 °C`."""
    if taken.unit.quantity == reading.quantity:
        text = f"{figure(taken.given, 4)} {taken.unit.symbol}"
    else:
        text = f"{figure(taken.given, 4)} {taken.unit.symbol} ({amount(taken.value, reading.unit)})"
    return text + at_text(reading, dict(taken.at))


def at_text(reading: Reading, at: Mapping[str, float]) -> str:
    """` at 2 °C`, or nothing where nothing was said."""
    said = [f"{figure(at[c.id])} {c.unit.symbol}" for c in reading.circumstances if c.id in at]
    return " at " + " and ".join(said) if said else ""


def expected_text(density: Density, unit: Unit) -> str:
    """What is expected: `26.3 kΩ ± 1.1`, `200 to 250 V`, `over 1 MΩ`, `up to 20 V`."""
    if isinstance(density, Bell):
        shown = _handy(density.mean, unit)
        wide = convert(density.high, unit, shown) - convert(density.mean, unit, shown)
        mean = convert(density.mean, unit, shown)
        return f"{_to_the_place_of(mean, wide)} {shown.symbol} ± {figure(wide, 2)}"
    if density.high == inf:
        return f"over {amount(density.low, unit)}"
    if density.low == 0:
        return f"up to {amount(density.high, unit)}"
    shown = _handy(density.high, unit)
    low, high = convert(density.low, unit, shown), convert(density.high, unit, shown)
    return f"{figure(low)} to {figure(high)} {shown.symbol}"


def _to_the_place_of(value: float, wide: float) -> str:
    """A value with as many places as its tolerance of two digits has."""
    tail = figure(wide, 2).partition(".")[2]
    return f"{value:.{len(tail)}f}"


def off_text(density: Density, x: float, unit: Unit) -> str:
    """How far off a reading is: `as expected`, `22.2 kΩ too low`."""
    if abs(density.off(x)) <= (2 if isinstance(density, Bell) else CLOSE):
        return "as expected"
    edge = density.mean if isinstance(density, Bell) else density.low if x < density.low else density.high
    return f"{amount(abs(x - edge), unit)} too {'low' if x < edge else 'high'}"


def reads(title: str, text: str) -> str:
    """`a good probe reads 26.3 kΩ ± 1.1`."""
    return f"{title}: {text}"


def comparison(reading: Reading, taken: Taken, look: Outlook) -> str:
    """`4.1 kΩ at 2 °C; a good probe: 26.3 kΩ ± 1.1; an open one: over 1 MΩ`."""
    seen: dict[int, str] = {}
    for expected, place in zip(reading.expected, look.place, strict=True):
        if expected is not None and place not in seen:
            seen[place] = reads(expected.title, expected_text(look.known[place], reading.unit))
    return "; ".join([given_text(reading, taken), *seen.values()])


def assumed(reading: Reading, taken: Taken) -> tuple[str, ...]:
    """What was taken for granted: circumstances nobody named, the kind of a pressure, the pressure around."""
    said = dict(taken.at)
    notes = [
        f"{c.title} was not given: {figure(c.usual)} {c.unit.symbol} give or take {figure(max(c.varies, c.accuracy))} "
        "is taken." for c in reading.circumstances if c.id not in said
    ]
    gauge = {taken.unit.quantity, reading.quantity, *(c.unit.quantity for c in reading.circumstances)}
    curves = any(e is not None and e.curve is not None for e in reading.expected)
    if reading.ambient is None and "pressure_gauge" in gauge and (len(gauge) > 1 or curves):
        hpa = ambient_pressure(reading, said) / 100
        notes.append(f"Gauge pressure counts from {hpa:.2f} hPa around, the standard atmosphere.")
    return tuple(notes)


def usual_texts(reading: Reading) -> tuple[str, ...]:
    """What is expected under the usual circumstances, a line for each kind of state; refrigerants to half a kelvin."""
    look = outlook(reading, {c.id: c.usual for c in reading.circumstances}, rough=True)
    titles = {p: e.title for e, p in zip(reading.expected, look.place, strict=True) if e is not None}
    return tuple(reads(titles[k], expected_text(d, reading.unit)) for k, d in enumerate(look.known))
