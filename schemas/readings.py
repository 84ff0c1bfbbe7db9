"""A test's reading as a trainer writes it, its defects, and the core's record of it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Annotated

from pydantic import Discriminator, Field, Tag

from graph.equipment import OTHERWISE
from graph.errors import Defect, HalfsplitError, PathItem, listed, nearest_name
from graph.readings.curves import CURVES, Curve, Parameter
from graph.readings.likelihood import outlook
from graph.readings.quantities import QUANTITIES, Unit, spelt, unit_of, units_of
from graph.readings.records import Circumstance, CurveUse, Expected, Reading
from schemas.text import NO_CONTROL, Name, OptionalTitle, Shape, Title

Path = tuple[PathItem, ...]
Figure = Annotated[float, Field(ge=-1e12, le=1e12, allow_inf_nan=False)]
Least = Annotated[float, Field(ge=0, le=1e12, allow_inf_nan=False)]
Percent = Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)]
UnitText = Annotated[str, Field(min_length=1, max_length=32, pattern=NO_CONTROL)]
TwoFigures = Annotated[list[Figure], Field(min_length=2, max_length=2)]
_AMBIENT = "pressure_absolute"


def _kind(value: object) -> str:
    return "word" if isinstance(value, str) else "number"


Argument = Annotated[
    Annotated[Figure, Tag("number")]
    | Annotated[Annotated[str, Field(pattern=r"^[A-Za-z][A-Za-z0-9_.-]{0,63}$")], Tag("word")],
    Discriminator(_kind),
]
"""A number, one of a curve's own words, or the name of a circumstance."""


class CircumstanceShape(Shape):
    """Something that the reading depends on."""

    title: Title
    unit: UnitText
    quantity: Annotated[
        Name | None, Field(description="where the unit alone does not tell, e.g. pressure_gauge")
    ] = None
    usual: Annotated[Figure, Field(description="taken where nobody says")]
    accuracy: Annotated[Least, Field(description="how well it is known once measured, in its unit")] = 0
    varies: Annotated[Least, Field(description="how far it may be from `usual` where nobody says, in its unit")] = 0


class ExpectedShape(Shape):
    """What a reading should be in one state: a value, a band, a curve, or like another state."""

    title: Annotated[OptionalTitle, Field(description="who reads so, e.g. a good probe")] = ""
    value: Figure | None = None
    low: Annotated[Figure | None, Field(description="without `high`: anything above")] = None
    high: Annotated[Figure | None, Field(description="without `low`: anything below")] = None
    curve: Annotated[Name | None, Field(description=f"one of: {', '.join(CURVES)}")] = None
    of: Annotated[
        dict[Name, Argument],
        Field(max_length=20, description="the curve's parameters; a name stands for a circumstance in `at`"),
    ] = {}
    like: Annotated[Name | None, Field(description="another state, whose value or curve is meant")] = None
    tolerance: Annotated[Least, Field(description="give or take, in the reading's unit")] = 0
    tolerance_percent: Annotated[Percent, Field(description="give or take, of the value")] = 0
    factor: Annotated[TwoFigures | None, Field(description="from so many times the value to so many times it")] = None
    offset: Annotated[TwoFigures | None, Field(description="from so much above the value to so much")] = None


class ReadingShape(Shape):
    """The number that an instrument shows, and what it should be in each state."""

    title: Annotated[OptionalTitle, Field(description="what is read, where the test's own title leaves it open")] = ""
    quantity: Annotated[Name, Field(description=f"one of: {', '.join(QUANTITIES)}")]
    unit: UnitText
    at: Annotated[
        dict[Name, CircumstanceShape], Field(max_length=10, description="what the reading depends on")
    ] = {}
    accuracy_percent: Annotated[Percent, Field(description="of the reading")] = 0
    accuracy_counts: Annotated[Least, Field(description="steps of the last digit")] = 0
    display_step: Annotated[Least, Field(description="the last digit, in the reading's unit")] = 0
    expected: Annotated[
        dict[Name, ExpectedShape],
        Field(min_length=1, max_length=50, description="state: what it reads; `otherwise` is every other state"),
    ]


def reading_defects(shape: ReadingShape, reveals: str, states: Collection[str], path: Path) -> Iterator[Defect]:
    """Everything in a reading that does not fit together."""
    found = list(_defects(shape, reveals, states, path))
    yield from found
    if not found:
        try:
            outlook(reading_of(shape, list(states), 0.0), {n: c.usual for n, c in shape.at.items()}, rough=True)
        except HalfsplitError as error:
            yield Defect("reading-range", path, error.detail, error.expected or "usual circumstances with a value")


def reading_of(shape: ReadingShape, states: Collection[str], wrong: float) -> Reading:
    """The core's record of a reading without defects; `wrong` is the chance that it is not of the state."""
    circumstances = tuple(
        Circumstance(n, c.title, _unit_of(c), c.usual, c.accuracy, c.varies) for n, c in shape.at.items()
    )
    records = {n: _expected(n, e, shape) for n, e in shape.expected.items()}
    rest = records.get(OTHERWISE)
    ambient = "ambient" if any(c.id == "ambient" and c.unit.quantity == _AMBIENT for c in circumstances) else None
    return Reading(
        shape.quantity, unit_of(shape.unit, shape.quantity), circumstances,
        tuple(records.get(s, rest) for s in states), shape.accuracy_percent / 100, shape.accuracy_counts,
        shape.display_step, wrong, ambient, shape.title,
    )


def _expected(state: str, shape: ExpectedShape, reading: ReadingShape) -> Expected:
    origin = reading.expected[shape.like] if shape.like is not None else shape
    return Expected(
        state, shape.title or state.replace("_", " "), origin.value, _curve_use(origin), shape.low, shape.high,
        shape.tolerance, shape.tolerance_percent / 100, _span(shape.factor), _span(shape.offset),
        list(reading.expected).index(state),
    )


def _span(pair: list[float] | None) -> tuple[float, float] | None:
    return None if pair is None else (pair[0], pair[1])


def _curve_use(shape: ExpectedShape) -> CurveUse | None:
    if shape.curve is None:
        return None
    curve = CURVES[shape.curve]
    words = {p.id for p in curve.parameters if p.words}
    return CurveUse(
        shape.curve,
        tuple((n, v) for n, v in shape.of.items() if not isinstance(v, str)),
        tuple((n, v) for n, v in shape.of.items() if isinstance(v, str) and n in words),
        tuple((n, v) for n, v in shape.of.items() if isinstance(v, str) and n not in words),
    )


def _unit_of(shape: CircumstanceShape) -> Unit:
    return unit_of(shape.unit, shape.quantity) if shape.quantity is not None else spelt(shape.unit)[0]


def _one_of(kind: str, name: str, valid: Collection[str], path: Path) -> Iterator[Defect]:
    if name not in valid:
        yield Defect("unknown-name", path, repr(name), f"a {kind}: {listed(valid, 20)}", nearest_name(name, valid))


def _unit(text: str, quantity: str, path: Path) -> Iterator[Defect]:
    try:
        unit_of(text, quantity)
    except HalfsplitError as error:
        yield Defect(error.code, path, repr(text), error.expected or "a unit", error.nearest)


def _defects(shape: ReadingShape, reveals: str, states: Collection[str], path: Path) -> Iterator[Defect]:
    yield from _one_of("quantity", shape.quantity, QUANTITIES, (*path, "quantity"))
    if shape.quantity in QUANTITIES:
        yield from _unit(shape.unit, shape.quantity, (*path, "unit"))
    for name, circumstance in shape.at.items():
        yield from _circumstance(circumstance, (*path, "at", name))
    for state, expected in shape.expected.items():
        where: Path = (*path, "expected", state)
        yield from _one_of(f"state of {reveals}", state, [*states, OTHERWISE], where)
        yield from _form(shape, state, expected, where)
        if expected.curve is not None:
            yield from _curve(shape, expected, where)


def _circumstance(shape: CircumstanceShape, path: Path) -> Iterator[Defect]:
    if shape.quantity is not None:
        yield from _one_of("quantity", shape.quantity, QUANTITIES, (*path, "quantity"))
        if shape.quantity in QUANTITIES:
            yield from _unit(shape.unit, shape.quantity, (*path, "unit"))
        return
    found = spelt(shape.unit)
    if not found:
        valid = list(dict.fromkeys(u.symbol for q in QUANTITIES for u in units_of(q)))
        yield Defect("unknown-name", (*path, "unit"), repr(shape.unit), "a unit", nearest_name(shape.unit, valid))
    elif len({u.quantity for u in found}) > 1:
        kinds = [u.quantity for u in found]
        yield Defect("unit-misfit", (*path, "unit"), repr(shape.unit), f"`quantity`, one of: {listed(kinds)}")


def _form(reading: ReadingShape, state: str, shape: ExpectedShape, path: Path) -> Iterator[Defect]:
    """One of the four ways to say it, and only what goes with it."""
    band = shape.low is not None or shape.high is not None
    ways = sum((shape.value is not None, band, shape.curve is not None, shape.like is not None))
    if ways != 1:
        yield Defect("reading-form", path, f"{ways} ways to say what is read",
                     "one of: `value`, `low` and `high`, `curve`, `like`")
    around = [n for n, v in (("tolerance", shape.tolerance), ("tolerance_percent", shape.tolerance_percent),
                             ("factor", shape.factor), ("offset", shape.offset)) if v]
    if band and around:
        yield Defect("reading-form", (*path, around[0]), f"`{around[0]}` of a band",
                     "a value or a curve to apply it to")
    if shape.factor is not None and shape.offset is not None:
        yield Defect("reading-form", (*path, "offset"), "both `factor` and `offset`", "one of them")
    for name, pair in (("factor", shape.factor), ("offset", shape.offset), ("low", [shape.low, shape.high])):
        if pair is not None and None not in pair and not pair[0] < pair[1]:  # type: ignore[operator]
            yield Defect("reading-form", (*path, name), f"{pair[0]} to {pair[1]}", "the lower first")
    if shape.of and shape.curve is None:
        yield Defect("reading-form", (*path, "of"), "parameters without a curve", "`curve`")
    quantity = QUANTITIES.get(reading.quantity)
    if quantity is not None and band:
        if shape.high is None and (shape.low or 0) <= 0:
            yield Defect("reading-form", path, "a band from 0 or less, open to above", "`high`")
        if shape.low is None and (quantity.least is None or quantity.id == "temperature"):
            yield Defect("reading-form", path, f"a {quantity.title} open to below", "`low`")
        if shape.low is None and quantity.least == 0 and (shape.high or 0) <= 0:
            yield Defect("reading-form", (*path, "high"), f"{shape.high}", "more than 0")
    if shape.like is not None:
        valid = [s for s, e in reading.expected.items() if s != state and (e.value is not None or e.curve is not None)]
        yield from _one_of("state with a value or a curve", shape.like, valid, (*path, "like"))


def _curve(reading: ReadingShape, shape: ExpectedShape, path: Path) -> Iterator[Defect]:
    assert shape.curve is not None
    yield from _one_of("curve", shape.curve, CURVES, (*path, "curve"))
    if shape.curve not in CURVES:
        return
    curve = CURVES[shape.curve]
    gives = {curve.gives, "pressure_gauge"} if curve.gives == "pressure_absolute" else {curve.gives}
    if reading.quantity in QUANTITIES and reading.quantity not in gives:
        yield Defect("unit-misfit", (*path, "curve"), f"a curve that gives {QUANTITIES[curve.gives].title}",
                     f"one that gives {QUANTITIES[reading.quantity].title}")
    for name, value in shape.of.items():
        yield from _one_of("parameter of this curve", name, [p.id for p in curve.parameters], (*path, "of", name))
        parameter = curve.parameter(name)
        if parameter is not None:
            yield from _argument(reading, parameter, value, (*path, "of", name))
    yield from _missing(curve, shape.of, path)


def _missing(curve: Curve, given: Mapping[str, object], path: Path) -> Iterator[Defect]:
    needed = [p.id for p in curve.parameters if p.id not in given and p.default is None and p.id != "side"]
    if needed:
        yield Defect("reading-form", (*path, "of"), f"no {listed(needed)}", "every parameter without a usual value")


def _argument(reading: ReadingShape, parameter: Parameter, value: float | str, path: Path) -> Iterator[Defect]:
    if parameter.words:
        yield from _one_of(parameter.id, str(value), parameter.words, path)
    elif isinstance(value, str):
        yield from _one_of("circumstance in `at`", value, reading.at, path)
        if value in reading.at and not list(_circumstance(reading.at[value], path)):
            kind = _unit_of(reading.at[value]).quantity
            fits = {parameter.quantity, "pressure_gauge"} if parameter.quantity == _AMBIENT else {parameter.quantity}
            if kind not in fits:
                wanted = QUANTITIES[parameter.quantity].title if parameter.quantity else "plain number"
                yield Defect("unit-misfit", path, f"a {QUANTITIES[kind].title}", f"a {wanted}")
