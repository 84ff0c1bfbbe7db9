"""What a good component reads as a function of named inputs.

A curve takes named parameters, each of one quantity in the unit of `quantities.base_unit` (pressures in Pa, so that
nobody mistakes them), and gives a value of one quantity. Outside its table a curve refuses, it never extrapolates.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import cbrt, exp, isfinite, log, sqrt

from graph.errors import FindingMisfit
from graph.readings.refrigerants import REFRIGERANTS, SIDES, ZERO, saturation_pressure, saturation_temperature

PER_KELVIN_COPPER = 0.00393
"""Temperature coefficient of copper at 20 °C, 1/K (IEC 60028:1925; memory)."""
FUSION, WATER = 333.6, 4.19
"""kJ/kg to freeze water, kJ/(kg K) to cool it (handbook figures; memory)."""
PLATINUM = (3.9083e-3, -5.775e-7, -4.183e-12)
"""A, B, C of IEC 60751:2008."""


@dataclass(frozen=True, slots=True)
class Parameter:
    """A number (of a quantity, or plain: None) or one of some words that a curve takes; `least` and `most` bound it."""

    id: str
    quantity: str | None = None
    default: float | None = None
    least: float = -1e12
    most: float = 1e12
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Curve:
    """A curve by its name: what it is, what it gives, what it takes.

    `law` gets the numbers and words of its parameters and whether a rough value is enough.
    """

    id: str
    title: str
    gives: str
    parameters: tuple[Parameter, ...]
    law: Callable[[Mapping[str, float], Mapping[str, str], bool], float]

    def parameter(self, name: str) -> Parameter | None:
        """One of its parameters."""
        return next((p for p in self.parameters if p.id == name), None)

    def __call__(self, numbers: Mapping[str, float], words: Mapping[str, str] | None = None,
                 rough: bool = False) -> float:
        """The value; defaults fill in what is left out. Raises FindingMisfit outside the curve's table."""
        full = {p.id: p.default for p in self.parameters if p.default is not None} | dict(numbers)
        for p in self.parameters:
            if not p.words and not p.least <= full[p.id] <= p.most:
                raise FindingMisfit(
                    f"{p.id.replace('_', ' ')} is {full[p.id]:g}, outside of what “{self.title}” holds for",
                    expected=f"{p.least:g} to {p.most:g}",
                )
        try:
            value = self.law(full, words or {}, rough)
        except (OverflowError, ZeroDivisionError, ValueError):
            value = float("nan")
        if not isfinite(value):
            raise FindingMisfit(f"“{self.title}” has no value there", expected="parameters of a real component")
        return value


def ntc_resistance(celsius: float, ohms_at_25: float, b: float) -> float:
    """Ohms of a thermistor by its B value: R = R25 exp(B (1/T - 1/298.15)), T in K."""
    return ohms_at_25 * exp(b * (1 / (celsius + ZERO) - 1 / 298.15))


def ntc_temperature(ohms: float, ohms_at_25: float, b: float) -> float:
    """°C of a thermistor: the inverse of `ntc_resistance`."""
    return 1 / (1 / 298.15 + log(ohms / ohms_at_25) / b) - ZERO


def steinhart_hart_temperature(ohms: float, a: float, b: float, c: float) -> float:
    """°C: 1/T = a + b ln R + c (ln R)^3 (J. S. Steinhart & S. R. Hart, Deep-Sea Research 15, 1968, 497-503)."""
    x = log(ohms)
    return 1 / (a + b * x + c * x**3) - ZERO


def steinhart_hart_resistance(celsius: float, a: float, b: float, c: float) -> float:
    """Ohms: the real root of the cubic above (Cardano)."""
    rest = a - 1 / (celsius + ZERO)
    if c == 0:
        return exp(-rest / b)
    half = rest / (2 * c)
    root = sqrt((b / (3 * c)) ** 3 + half**2)
    return exp(cbrt(root - half) - cbrt(root + half))


def platinum_resistance(celsius: float, ohms_at_0: float = 100.0) -> float:
    """Ohms of a platinum thermometer from -200 to 850 °C (IEC 60751:2008)."""
    a, b, c = PLATINUM
    cold = c * (celsius - 100) * celsius**3 if celsius < 0 else 0.0
    return ohms_at_0 * (1 + a * celsius + b * celsius**2 + cold)


def platinum_temperature(ohms: float, ohms_at_0: float = 100.0) -> float:
    """°C of a platinum thermometer: the quadratic's root above 0 °C, Newton's method below. Exact to 1 µK."""
    a, b, c = PLATINUM
    ratio = ohms / ohms_at_0
    t = (-a + sqrt(a * a - 4 * b * (1 - ratio))) / (2 * b)
    if ratio >= 1:
        return t
    for _ in range(20):
        slope = a + 2 * b * t + c * (4 * t**3 - 300 * t**2)
        step = (1 + a * t + b * t * t + c * (t - 100) * t**3 - ratio) / slope
        t -= step
        if abs(step) < 1e-9:
            break
    return t


def platinum_tolerance(celsius: float, grade: str) -> float:
    """K by which a platinum thermometer of a class may be off (IEC 60751:2008, table 3; memory)."""
    base, slope = {"AA": (0.1, 0.0017), "A": (0.15, 0.002), "B": (0.3, 0.005), "C": (0.6, 0.01)}[grade]
    return base + slope * abs(celsius)


def ice_share(air: float, water: float, rated_air: float, rated_water: float, per_kelvin: float) -> float:
    """What is left of the rated ice in a day.

    Warmer water takes more cold by its heat; each kelvin of air costs `per_kelvin` of the rate (common practice, no
    source).
    """
    heat = (FUSION + WATER * max(rated_water, 0)) / (FUSION + WATER * max(water, 0))
    return heat * max(0.05, 1 - per_kelvin * (air - rated_air))


def ice_energy_limit(kg_per_day: float) -> float:
    """kWh/kg that an air-cooled ice-making head may take (US 10 CFR 431.136, 2010-2018; seen)."""
    pounds = kg_per_day / 0.45359237
    per_hundred = 10.26 - 0.0086 * pounds if pounds < 450 else 6.89 - 0.0011 * pounds
    return per_hundred / (100 * 0.45359237)


_PLACE = Parameter("celsius", "temperature", least=-200, most=850)
_SIDE = Parameter("side", words=tuple(SIDES))
_FLUID = Parameter("refrigerant", words=tuple(REFRIGERANTS))
_ICE = (
    Parameter("air", "temperature", 20, -5, 60), Parameter("water", "temperature", 12, 0, 50),
    Parameter("rated_air", "temperature", 20, -5, 60), Parameter("rated_water", "temperature", 12, 0, 50),
    Parameter("per_kelvin", None, 0.012, 0, 0.1),
)


def _side(words: Mapping[str, str]) -> tuple[str, bool]:
    return words["refrigerant"], words.get("side", "dew") == "bubble"


def _boils(numbers: Mapping[str, float], words: Mapping[str, str], rough: bool) -> float:
    name, bubble = _side(words)
    return saturation_temperature(name, "bubble" if bubble else "dew", numbers["pressure"], rough)


def _presses(numbers: Mapping[str, float], words: Mapping[str, str], rough: bool) -> float:
    name, bubble = _side(words)
    return saturation_pressure(name, "bubble" if bubble else "dew", numbers["celsius"], rough)


CURVES = {c.id: c for c in (
    Curve("ntc", "thermistor by its B value", "resistance", (
        Parameter("ohms_at_25", "resistance", least=1, most=1e7), Parameter("b", least=500, most=10_000),
        Parameter("celsius", "temperature", least=-60, most=300),
    ), lambda n, w, r: ntc_resistance(n["celsius"], n["ohms_at_25"], n["b"])),
    Curve("steinhart_hart", "thermistor by Steinhart and Hart", "resistance", (
        Parameter("a"), Parameter("b", least=1e-9), Parameter("c", least=0),
        Parameter("celsius", "temperature", least=-60, most=300),
    ), lambda n, w, r: steinhart_hart_resistance(n["celsius"], n["a"], n["b"], n["c"])),
    Curve("platinum", "platinum thermometer, IEC 60751", "resistance", (
        Parameter("ohms_at_0", "resistance", 100, 1, 1e5), _PLACE,
    ), lambda n, w, r: platinum_resistance(n["celsius"], n["ohms_at_0"])),
    Curve("winding", "winding by its resistance at one temperature", "resistance", (
        Parameter("ohms", "resistance", least=1e-3, most=1e7), Parameter("ohms_celsius", "temperature", 20, -60, 300),
        Parameter("per_kelvin", None, PER_KELVIN_COPPER, -0.002, 0.01),
        Parameter("celsius", "temperature", 20, -60, 300),
    ), lambda n, w, r: n["ohms"] * (1 + n["per_kelvin"] * (n["celsius"] - 20))
        / (1 + n["per_kelvin"] * (n["ohms_celsius"] - 20))),
    Curve("nameplate", "heater by the watts and volts on its plate", "resistance", (
        Parameter("watts", "power", least=1e-3, most=1e6), Parameter("volts", "voltage", least=0.1, most=1e5),
        Parameter("hot_over_cold", None, 1, 0.5, 20), Parameter("per_kelvin", None, 0, -0.002, 0.01),
        Parameter("celsius", "temperature", 20, -60, 300),
    ), lambda n, w, r: n["volts"] ** 2 / n["watts"] / n["hot_over_cold"] * (1 + n["per_kelvin"] * (n["celsius"] - 20))),
    Curve("nameplate_current", "current by the watts and volts on the plate", "current", (
        Parameter("watts", "power", least=1e-3, most=1e6), Parameter("volts", "voltage", least=0.1, most=1e5),
        Parameter("power_factor", None, 1, 0.1, 1), Parameter("supply_volts", "voltage", 0, 0, 1e5),
    ), lambda n, w, r: n["watts"] / n["volts"] / n["power_factor"] * ((n["supply_volts"] or n["volts"]) / n["volts"])),
    Curve("saturation_temperature", "temperature of a refrigerant that boils or condenses", "temperature", (
        _FLUID, _SIDE, Parameter("pressure", "pressure_absolute", least=1, most=1e7),
    ), _boils),
    Curve("saturation_pressure", "pressure of a refrigerant that boils or condenses", "pressure_absolute", (
        _FLUID, _SIDE, Parameter("celsius", "temperature", least=-100, most=150),
    ), _presses),
    Curve("ice_rate", "ice in a day at other air and water than rated", "mass_rate", (
        Parameter("rated", "mass_rate", least=0.1, most=1e5), *_ICE,
    ), lambda n, w, r: n["rated"] * ice_share(*(n[p.id] for p in _ICE))),
    Curve("ice_energy", "energy for ice at other air and water than rated", "energy_per_mass", (
        Parameter("rated", "energy_per_mass", least=1e-3, most=10), *_ICE,
    ), lambda n, w, r: n["rated"] / ice_share(*(n[p.id] for p in _ICE))),
    Curve("batch_time", "time of a batch at other air and water than rated", "time", (
        Parameter("rated", "time", least=1, most=1e6), *_ICE,
    ), lambda n, w, r: n["rated"] / ice_share(*(n[p.id] for p in _ICE))),
    Curve("ice_energy_limit", "energy that an air-cooled ice-making head may take, US 2010-2018", "energy_per_mass", (
        Parameter("kg_per_day", "mass_rate", least=1, most=1814),
    ), lambda n, w, r: ice_energy_limit(n["kg_per_day"])),
)}
