"""How likely numbers are: a bell, a band with soft edges, one open to above, and a broad one for whatever else.

Each has a density, its integral, a usual range (19 in 20, or its edges) and a distance in spreads. Scalars in and
out: a finding asks for a few values only, and plain arithmetic is quickest there.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asinh, erf, exp, pi, sinh, sqrt
from typing import Protocol

ROOT = sqrt(2 * pi)
FAR = 38.0
"""Spreads beyond which a bell is zero in floating point."""


def phi(z: float) -> float:
    """The standard normal distribution function."""
    return 0.5 * (1 + erf(z / 1.4142135623730951))


class Density(Protocol):
    """A probability density over the values that a reading may have."""

    @property
    def low(self) -> float:
        """The lower end of the usual range; -inf where there is none."""

    @property
    def high(self) -> float:
        """The upper end of the usual range; inf where there is none."""

    @property
    def spread(self) -> float:
        """The width of an edge, in the reading's unit."""

    def at(self, x: float) -> float:
        """The density."""

    def below(self, x: float) -> float:
        """The chance of a value below x."""

    def off(self, x: float) -> float:
        """How far x is from what is expected, in spreads; 0 inside a band, negative below it."""


@dataclass(frozen=True, slots=True)
class Bell:
    """A normal density around `mean`."""

    mean: float
    spread: float

    @property
    def low(self) -> float:
        """Two spreads below the mean."""
        return self.mean - 2 * self.spread

    @property
    def high(self) -> float:
        """Two spreads above the mean."""
        return self.mean + 2 * self.spread

    def at(self, x: float) -> float:
        """The density."""
        z = self.off(x)
        return exp(-0.5 * z * z) / (self.spread * ROOT) if abs(z) < FAR else 0.0

    def below(self, x: float) -> float:
        """The chance of a value below x."""
        return phi(self.off(x))

    def off(self, x: float) -> float:
        """Distance from the mean in spreads."""
        return (x - self.mean) / self.spread


@dataclass(frozen=True, slots=True)
class Band:
    """Even from `low` to `high`, falling off outside like the sides of a bell."""

    low: float
    high: float
    spread: float

    @property
    def _top(self) -> float:
        return 1 / (self.high - self.low + self.spread * ROOT)

    def at(self, x: float) -> float:
        """The density."""
        z = self.off(x)
        return self._top * exp(-0.5 * z * z) if abs(z) < FAR else 0.0

    def below(self, x: float) -> float:
        """The chance of a value below x."""
        shoulder = self.spread * ROOT
        inside = min(max(x, self.low), self.high) - self.low
        left = phi(min(0.0, (x - self.low) / self.spread))
        right = phi(max(0.0, (x - self.high) / self.spread)) - 0.5
        return self._top * (shoulder * (left + right) + inside)

    def off(self, x: float) -> float:
        """Spreads outside the nearer edge; 0 inside."""
        return (x - self.low if x < self.low else x - self.high if x > self.high else 0.0) / self.spread


@dataclass(frozen=True, slots=True)
class Above:
    """From `low` (over 0) on, half of it beyond twice that: density low / x^2, a soft edge below."""

    low: float
    spread: float

    @property
    def high(self) -> float:
        """There is no upper end."""
        return float("inf")

    @property
    def _whole(self) -> float:
        return self.low + self.spread * ROOT / 2

    def at(self, x: float) -> float:
        """The density."""
        if x >= self.low:
            return (self.low / x) ** 2 / self._whole
        z = self.off(x)
        return exp(-0.5 * z * z) / self._whole if abs(z) < FAR else 0.0

    def below(self, x: float) -> float:
        """The chance of a value below x."""
        if x < self.low:
            return self.spread * ROOT * phi(self.off(x)) / self._whole
        return 1 - self.low**2 / x / self._whole

    def off(self, x: float) -> float:
        """Spreads below the edge; 0 above it."""
        return min(0.0, x - self.low) / self.spread


@dataclass(frozen=True, slots=True)
class Broad:
    """Whatever an instrument may show: even in asinh(x / scale) from `low` to `high`, fading beyond.

    So a number near 0 is as likely as another near 0, and far from it any order of magnitude as likely as the next.
    """

    low: float
    high: float
    scale: float

    @property
    def spread(self) -> float:
        """The scale."""
        return self.scale

    def at(self, x: float) -> float:
        """The density."""
        first, last, fade = self._ends()
        u = asinh(x / self.scale)
        beyond = max(first - u, u - last, 0.0)
        return exp(-beyond / fade) / (last - first + 2 * fade) / sqrt(x * x + self.scale**2)

    def below(self, x: float) -> float:
        """The chance of a value below x."""
        first, last, fade = self._ends()
        u = asinh(x / self.scale)
        whole = last - first + 2 * fade
        if u < first:
            return fade * exp((u - first) / fade) / whole
        if u > last:
            return 1 - fade * exp((last - u) / fade) / whole
        return (fade + u - first) / whole

    def off(self, x: float) -> float:
        """Nothing is far off."""
        return 0.0

    def _ends(self) -> tuple[float, float, float]:
        first, last = asinh(self.low / self.scale), asinh(self.high / self.scale)
        return first, last, (last - first) / 20

    def values(self, count: int) -> list[float]:
        """Values that cut it into even steps of asinh, from end to end."""
        first, last, fade = self._ends()
        start, width = first - 4 * fade, last - first + 8 * fade
        return [self.scale * sinh(start + width * i / (count - 1)) for i in range(count)]
