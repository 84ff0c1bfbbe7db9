"""What a good component should read: a table for the terminal, a curve as SVG."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from pydantic import ValidationError

from api.problems import Refusal
from graph.equipment import Equipment
from graph.errors import DocumentError, FindingMisfit, UnknownName
from graph.readings.curves import CURVES, Curve
from graph.readings.likelihood import outlook
from graph.readings.quantities import QUANTITIES, STANDARD_ATMOSPHERE, Unit, base_unit, convert, figure, spelt, unit_of
from graph.readings.records import Reading
from graph.readings.sentences import expected_text, ranked
from schemas.readings import ReadingShape, reading_defects, reading_of

MOST_ROWS = 400
SMOOTH = 156
"""Points of a curve that is drawn: one every four of its 620 units."""
_NUMBER = re.compile(r"([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,3})?)\s*(.*)", re.DOTALL)
_SWEEP = re.compile(r"([^:]+):([^:]+):([^:]+)")


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: the circumstance, what is expected there, and its usual range."""

    at: float
    low: float
    expected: float
    high: float


@dataclass(frozen=True, slots=True)
class Expectation:
    """What a good component reads over one circumstance."""

    title: str
    parameters: str
    axis: str
    unit: str
    rows: tuple[Row, ...]


def expectation(
    quantity: str, curve: str, given: Sequence[str], over: str | None, unit: str | None, tolerance_percent: float,
    smooth: bool = False,
) -> Expectation:
    """What `--quantity … --curve …` asks for; `smooth` has rows enough to be drawn in place of those asked for.

    Raises what the core refuses, with the option at fault.
    """
    if quantity not in QUANTITIES:
        raise UnknownName("quantity", quantity, QUANTITIES, pointer="/quantity")
    known = curve_named(curve)
    numbers, words = _arguments(known, given)
    sweep = _swept(known, over)
    shown = unit_of(unit, quantity, "/unit") if unit else base_unit(quantity)
    at: dict[str, Any] = {}
    of: dict[str, Any] = {**numbers, **words}
    values: Sequence[float] = (0.0,)
    if sweep is not None:
        name, values, axis = sweep
        if smooth and len(values) > 1:
            values = np.linspace(values[0], values[-1], max(len(values), SMOOTH)).tolist()
        at = {"at": {"title": name, "unit": axis.ucum, "quantity": axis.quantity, "usual": values[0]}}
        of[name] = "at"
    reading = _checked({
        "quantity": quantity, "unit": shown.ucum, "at": at,
        "expected": {"good": {"curve": known.id, "of": of, "tolerance_percent": tolerance_percent}},
    })
    rows = tuple(_row(reading, value, sweep is not None) for value in values)
    said = ", ".join([*words.values(), *(_said(known, n, v) for n, v in numbers.items())])
    if "pressure_gauge" in (quantity, None if sweep is None else sweep[2].quantity):
        said += f", gauge counted from {STANDARD_ATMOSPHERE / 100:g} hPa"
    axis_text = "" if sweep is None else f"{sweep[0].replace('_', ' ')}, {sweep[2].symbol}"
    return Expectation(f"{known.title}: {QUANTITIES[quantity].title}", said, axis_text, shown.symbol, rows)


def curve_named(name: str) -> Curve:
    """A curve by its name. Raises UnknownName."""
    if name not in CURVES:
        raise UnknownName("curve", name, CURVES, pointer="/curve")
    return CURVES[name]


def curves_text(quantity: str) -> str:
    """The curves that give a quantity, and what each takes. Raises UnknownName."""
    if quantity not in QUANTITIES:
        raise UnknownName("quantity", quantity, QUANTITIES, pointer="/quantity")
    gives = {quantity, "pressure_absolute"} if quantity == "pressure_gauge" else {quantity}
    found = [c for c in CURVES.values() if c.gives in gives]
    lines = [f"Curves that give {QUANTITIES[quantity].title}:" if found else
             f"No curve gives {QUANTITIES[quantity].title}."]
    for curve in found:
        lines.append(f"  {curve.id}: {curve.title}")
        for p in curve.parameters:
            unit = base_unit(p.quantity).symbol if p.quantity else ", ".join(p.words) or "number"
            usual = f" (usually {p.default:g})" if p.default is not None else ""
            lines.append(f"      {p.id}: {unit}{usual}")
    return "\n".join(lines)


def table_text(found: Expectation) -> str:
    """The table for a terminal."""
    head = (found.axis or "", f"low, {found.unit}", "expected", "high")
    rows = [
        (f"{r.at:g}" if found.axis else "", *(figure(v, 5) for v in (r.low, r.expected, r.high))) for r in found.rows
    ]
    widths = [max(len(line[i]) for line in (head, *rows)) for i in range(4)]
    lines = ["  ".join(cell.rjust(w) for cell, w in zip(line, widths, strict=True)) for line in (head, *rows)]
    return "\n".join([found.title, f"  {found.parameters}", "", *lines])


def states_text(equipment: Equipment, name: str, at: Sequence[str]) -> str:
    """What a test of a machine should read in each state. Raises UnknownName and FindingMisfit."""
    tests = {n: t for n, t in equipment.tests.items() if t.reading is not None}
    if name not in tests or tests[name].reading is None:
        raise UnknownName("test with a reading", name, tests, pointer="/test")
    reading = tests[name].reading
    assert reading is not None
    said = _circumstances(reading, at)
    look = outlook(reading, said)
    where = [f"{c.title}: {said.get(c.id, c.usual):g} {c.unit.symbol}" for c in reading.circumstances]
    lines = [f"{e.title}: {expected_text(look.known[k], reading.unit)}" for e, k in ranked(reading, look)]
    return "\n".join([tests[name].title, *(f"  {w}" for w in where), "", *(f"  {line}" for line in lines)])


def _circumstances(reading: Reading, at: Sequence[str]) -> dict[str, float]:
    said = {}
    for text in at:
        name, _, value = text.partition("=")
        names = [c.id for c in reading.circumstances]
        if name not in names:
            raise UnknownName("circumstance of this reading", name, names, pointer=f"/with/{name}")
        number, unit = _number(value, f"/with/{name}")
        wanted = reading.circumstance(name).unit
        said[name] = convert(number, unit_of(unit, wanted.quantity, f"/with/{name}"), wanted) if unit else number
    return said


def _checked(data: Mapping[str, Any]) -> Reading:
    try:
        shape = ReadingShape.model_validate(data)
    except ValidationError as error:
        raise Refusal("invalid-request", str(error.errors()[0]["msg"])) from None
    defects = list(reading_defects(shape, "the component", ["good"], ()))
    if defects:
        raise DocumentError(defects)
    return reading_of(shape, ["good"], 0.0)


def _row(reading: Reading, value: float, swept: bool) -> Row:
    look = outlook(reading, {"at": value} if swept else {})
    density = look.known[0]
    return Row(value, density.low, (density.low + density.high) / 2, density.high)


def _said(curve: Curve, name: str, value: float) -> str:
    parameter = curve.parameter(name)
    unit = base_unit(parameter.quantity).symbol if parameter is not None and parameter.quantity else ""
    return f"{name.replace('_', ' ')} {value:g} {unit}".rstrip()


def _arguments(curve: Curve, given: Sequence[str]) -> tuple[dict[str, float], dict[str, str]]:
    numbers: dict[str, float] = {}
    words: dict[str, str] = {}
    for text in given:
        name, _, value = text.partition("=")
        parameter = curve.parameter(name)
        where = f"/with/{name}"
        if parameter is None:
            raise UnknownName("parameter of this curve", name, [p.id for p in curve.parameters], pointer=where)
        if parameter.words:
            words[name] = value
            continue
        numbers[name] = _in_base(parameter.quantity, *_number(value, where), where)
    return numbers, words


def _in_base(quantity: str | None, number: float, unit: str, where: str) -> float:
    if not unit or quantity is None:
        return number
    kinds = {u.quantity for u in spelt(unit)}
    if quantity == "pressure_absolute" and kinds == {"pressure_gauge"}:
        gauge = unit_of(unit, "pressure_gauge", where)
        return convert(number, gauge, base_unit("pressure_gauge")) + STANDARD_ATMOSPHERE
    return convert(number, unit_of(unit, quantity, where), base_unit(quantity))


def _number(text: str, where: str) -> tuple[float, str]:
    found = _NUMBER.fullmatch(text.strip())
    if found is None or abs(float(found[1])) > 1e12:
        raise FindingMisfit(f"{text!r} is not a number, with or without a unit", pointer=where, expected="e.g. 10kΩ")
    return float(found[1]), found[2].strip()


def _swept(curve: Curve, over: str | None) -> tuple[str, Sequence[float], Unit] | None:
    if over is None:
        return None
    name, _, span = over.partition("=")
    parameter = curve.parameter(name)
    numeric = [p.id for p in curve.parameters if p.quantity is not None]
    if parameter is None or parameter.quantity is None:
        raise UnknownName("parameter of this curve with a unit", name, numeric, pointer="/over")
    found = _SWEEP.fullmatch(span)
    if found is None:
        raise FindingMisfit(f"{span!r} is no range", pointer="/over", expected="FROM:TO:STEP, e.g. celsius=-20:60:5")
    (first, one), (last, other), (step, unit) = (_number(part, "/over") for part in found.groups())
    if one or other:
        raise FindingMisfit(f"{span!r} has a unit in its midst", pointer="/over", expected="the unit at the end alone")
    if step <= 0 or last < first or (last - first) / step > MOST_ROWS:
        raise FindingMisfit(f"{span!r} is no range", pointer="/over",
                            expected=f"a step forward, {MOST_ROWS} at most")
    kinds = {u.quantity for u in spelt(unit)} if unit else set()
    quantity = parameter.quantity
    if quantity == "pressure_absolute" and kinds == {"pressure_gauge"}:
        quantity = "pressure_gauge"
    axis = unit_of(unit, quantity, "/over") if unit else base_unit(quantity)
    count = int((last - first) / step + 1e-9) + 1
    return name, [first + step * i for i in range(count)], axis

