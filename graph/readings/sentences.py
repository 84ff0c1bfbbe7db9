"""What was read, what was expected and how far off it is, in words."""

from __future__ import annotations

from math import inf

from graph.readings.densities import Bell, Density
from graph.readings.likelihood import Outlook, ambient_pressure, outlook
from graph.readings.quantities import QUANTITIES, Unit, convert, figure, units_of
from graph.readings.records import Expected, Reading, Taken

_SCALED = {"resistance": ("mΩ", "Ω", "kΩ", "MΩ"), "current": ("mA", "A"), "voltage": ("mV", "V"),
           "capacitance": ("pF", "nF", "µF")}
CLOSE = 1.0
"""Spreads within which a reading is called right."""


def trimmed(value: float, digits: int = 3) -> str:
    """A number for people without zeros that tell nothing: `1`, not `1.00`."""
    text = figure(value, digits)
    return _placed(float(text), len(text.partition(".")[2]))


def amount(value: float, unit: Unit, digits: int = 3) -> str:
    """A value with a unit of handy size: 1000 kΩ is 1 MΩ."""
    shown = _handy(value, unit)
    return f"{trimmed(convert(value, unit, shown), digits)} {shown.symbol}"


def _handy(value: float, unit: Unit) -> Unit:
    sizes = [u for u in units_of(unit.quantity) if u.symbol in _SCALED.get(unit.quantity, ())]
    if not sizes or value == 0 or 0.1 <= abs(value) < 1000:
        return unit
    fitting = [u for u in sizes if abs(convert(value, unit, u)) >= 0.9995]
    return min(fitting or sizes, key=lambda u: abs(convert(value, unit, u)))


def given_text(reading: Reading, taken: Taken) -> str:
    """The number as it was given, with what was said of circumstances: `4.1 kΩ at 2 °C`."""
    text = f"{taken.given:g} {taken.unit.symbol}"
    if taken.unit.quantity != reading.quantity:
        text += f" ({amount(taken.value, reading.unit)})"
    said = dict(taken.at)
    at = [f"{said[c.id]:g} {c.unit.symbol}" for c in reading.circumstances if c.id in said]
    return f"{text} at {' and '.join(at)}" if at else text


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
    places = len(figure(max(abs(low), abs(high))).partition(".")[2])
    return f"{_placed(low, places)} to {_placed(high, places)} {shown.symbol}"


def _placed(value: float, places: int) -> str:
    """A value with so many places, without zeros that tell nothing."""
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _to_the_place_of(value: float, wide: float) -> str:
    """A value with as many places as its tolerance of two digits has."""
    tail = figure(wide, 2).partition(".")[2]
    return f"{value:.{len(tail)}f}"


def off_text(density: Density, x: float, unit: Unit) -> str | None:
    """How far off a reading is, e.g. `22.2 kΩ too low`; None where it is as expected."""
    if abs(density.off(x)) <= (2 if isinstance(density, Bell) else CLOSE):
        return None
    edge = density.mean if isinstance(density, Bell) else density.low if x < density.low else density.high
    gap = abs(x - edge)
    size = f"{trimmed(gap)} {_steps(unit)}" if unit.quantity == "temperature" else amount(gap, unit)
    return f"{size} too {'low' if x < edge else 'high'}"


def _steps(unit: Unit) -> str:
    """The unit of a difference of temperatures."""
    return "Δ°F" if unit.symbol == "°F" else "K"


def ranked(reading: Reading, look: Outlook) -> list[tuple[Expected, int]]:
    """What is expected, in the order of the document, with the number of its density."""
    found = {place: e for e, place in zip(reading.expected, look.place, strict=True) if e is not None}
    return sorted(((e, place) for place, e in found.items()), key=lambda pair: pair[0].rank)


def comparison(reading: Reading, taken: Taken, look: Outlook, state: int | None = None) -> str:
    """`4.1 kΩ at 2 °C; a good probe reads 26.3 kΩ ± 1.1, an open one over 1 MΩ`.

    With a state, only what is written first and that state are told.
    """
    every = ranked(reading, look)
    told = [(e, k) for i, (e, k) in enumerate(every) if state is None or i == 0 or k == look.place[state]]
    texts = [f"{e.title} {'reads ' if i == 0 else ''}{expected_text(look.known[k], reading.unit)}"
             for i, (e, k) in enumerate(told)]
    return f"{given_text(reading, taken)}; {', '.join(texts)}"


def verdict(reading: Reading, taken: Taken, look: Outlook, state: int) -> str:
    """What a reading that fits is like: `It reads like a drifted one; 4.4 kΩ too high for a good probe.`."""
    every = ranked(reading, look)
    first, place = every[0]
    own = look.place[state]
    expected = reading.expected[state]
    if expected is None:
        return "It may be a state of which no reading is known."
    off = off_text(look.known[own], taken.value, reading.unit)
    text = f"It reads like {expected.title}" + (f", {off}" if off else "")
    gap = None if own == place else off_text(look.known[place], taken.value, reading.unit)
    return f"{text}; {gap} for {first.title}." if gap else f"{text}."


def assumed(reading: Reading, taken: Taken) -> tuple[str, ...]:
    """What was taken for granted: circumstances nobody named, the kind of a pressure, the pressure around."""
    said = dict(taken.at)
    notes = [
        f"{c.title} was not given: {c.usual:g} {c.unit.symbol} give or take {max(c.varies, c.accuracy):g} is taken."
        for c in reading.circumstances if c.id not in said
    ]
    gauge = {taken.unit.quantity, reading.quantity, *(c.unit.quantity for c in reading.circumstances)}
    curves = any(e is not None and e.curve is not None for e in reading.expected)
    if reading.ambient is None and "pressure_gauge" in gauge and (len(gauge) > 1 or curves):
        hpa = ambient_pressure(reading, said) / 100
        notes.append(f"Gauge pressure counts from {hpa:.2f} hPa around, the standard atmosphere.")
    return tuple(notes)


def asked_text(reading: Reading) -> str:
    """What to give: `Give in kΩ: the resistance; with it: temperature of the bath (°C).`."""
    what = reading.title or f"the {QUANTITIES[reading.quantity].title}"
    what = what[0].lower() + what[1:] if reading.title else what
    at = ", ".join(f"{c.title[0].lower()}{c.title[1:]} ({c.unit.symbol})" for c in reading.circumstances)
    return f"Give in {reading.unit.symbol}: {what}" + (f"; with it: {at}." if at else ".")


def usual_texts(reading: Reading) -> tuple[str, ...]:
    """What is expected under the usual circumstances, a line for each kind of state; refrigerants to half a kelvin."""
    look = outlook(reading, {c.id: c.usual for c in reading.circumstances}, rough=True)
    return tuple(f"{e.title}: {expected_text(look.known[k], reading.unit)}" for e, k in ranked(reading, look))
