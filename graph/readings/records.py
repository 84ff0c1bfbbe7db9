"""What a test's reading should be, as its document says: frozen records."""

from __future__ import annotations

from dataclasses import dataclass, field

from graph.readings.quantities import Unit

Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Circumstance:
    """Something that a reading depends on. Without a word on it, it is `usual`, give or take `varies`.

    `usual`, `accuracy` (how well it is known once measured) and `varies` are in `unit`.
    """

    id: str
    title: str
    unit: Unit
    usual: float
    accuracy: float
    varies: float


@dataclass(frozen=True, slots=True)
class CurveUse:
    """A curve with its parameters: numbers in the curve's own units, words, and circumstances by their names."""

    curve: str
    numbers: tuple[tuple[str, float], ...]
    words: tuple[tuple[str, str], ...]
    inputs: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Expected:
    """What a reading should be in one state, in the reading's unit.

    Either a `value`, or a `curve`, or from `low` to `high` (None: open to that side). Around a value or a curve lies a
    tolerance (absolute, and a fraction of it), a range of factors or a range of offsets. `rank` is its place in the
    document: what is written first is what is held against a reading first. Two that expect the same numbers are equal,
    whatever they are called.
    """

    state: str = field(compare=False)
    title: str = field(compare=False)
    value: float | None = None
    curve: CurveUse | None = None
    low: float | None = None
    high: float | None = None
    tolerance: float = 0.0
    fraction: float = 0.0
    factor: Span | None = None
    offset: Span | None = None
    rank: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """The number that a test reads: quantity, unit, what it depends on, and what is expected in each state.

    `expected` follows the states of what the test reveals; None where nothing is known of a state. The instrument is
    right within `percent` (a fraction) of the reading and `counts` times `step`, the last digit of its display.
    `wrong` is the chance that the number is not one of this state: read at the wrong place, mistyped, out of a broken
    instrument. `title` says what is read where the test does not. `ambient` names the circumstance that is the
    pressure around, if any.
    """

    quantity: str
    unit: Unit
    circumstances: tuple[Circumstance, ...]
    expected: tuple[Expected | None, ...]
    percent: float
    counts: float
    step: float
    wrong: float
    ambient: str | None = None
    title: str = ""

    @property
    def figures(self) -> tuple[object, ...]:
        """Everything in it: two readings with the same figures tell the same."""
        return (self.quantity, self.unit, self.circumstances, self.expected, self.percent, self.counts, self.step,
                self.wrong, self.ambient)

    def circumstance(self, name: str) -> Circumstance:
        """One of the circumstances. Raises KeyError."""
        for found in self.circumstances:
            if found.id == name:
                return found
        raise KeyError(name)


@dataclass(frozen=True, slots=True)
class Taken:
    """A number that was read: in the reading's unit, the unit it was given in, and what was said of circumstances.

    `given` is the number as it was given; `at` are values in the circumstances' units.
    """

    value: float
    given: float
    unit: Unit
    at: tuple[tuple[str, float], ...] = ()
