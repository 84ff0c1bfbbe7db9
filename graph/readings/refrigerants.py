"""Saturation of refrigerants: bubble and dew, superheat and subcooling.

Dew is where the last liquid has boiled away: superheat counts from it. Bubble is where the first vapour shows:
subcooling counts from it. Between them lies the glide of a blend. Properties are CoolProp's (I. H. Bell et al., Ind.
Eng. Chem. Res. 53, 2014, 2498-2508), imported only when one is asked for. To plan a visit, figures to half a kelvin
are enough; for that a three-constant vapour pressure equation stands in (C. Antoine, Comptes Rendus 107, 1888).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import exp, log
from threading import Lock
from typing import Any, Literal

from graph.errors import FindingMisfit, UnknownName

Side = Literal["bubble", "dew"]
SIDES: tuple[Side, ...] = ("bubble", "dew")
ZERO = 273.15
_ONE_AT_A_TIME = Lock()
"""A state of CoolProp is set and then read."""


@dataclass(frozen=True, slots=True, eq=False)
class Refrigerant:
    """A refrigerant: its name at CoolProp, the temperatures (°C) it is tabled for, and Antoine's constants.

    Blends end where CoolProp's solver does, some way below their critical point.

    ln(pressure in Pa) = A - B / (T + C), T in K, fitted to CoolProp 8 from -45 to 60 °C within 0.35 K.
    """

    id: str
    fluid: str
    low: float
    high: float
    rough: dict[Side, tuple[float, float, float]]


def _of(name: str, fluid: str, high: float, bubble: tuple[float, float, float],
        dew: tuple[float, float, float]) -> Refrigerant:
    return Refrigerant(name, fluid, -60.0, high, {"bubble": bubble, "dew": dew})


REFRIGERANTS = {r.id: r for r in (
    _of("R-290", "R290", 90, (20.9889, 2046.36, -14.747), (20.9889, 2046.36, -14.747)),
    _of("R-600a", "R600a", 120, (20.6308, 2116.03, -29.009), (20.6308, 2116.03, -29.009)),
    _of("R-134a", "R134a", 95, (21.3395, 2108.69, -32.228), (21.3395, 2108.69, -32.228)),
    _of("R-404A", "R404A.mix", 60, (21.5356, 2123.02, -14.708), (21.5188, 2104.01, -17.007)),
    _of("R-448A", "R448A.mix", 60, (21.4212, 2035.10, -21.237), (21.7317, 2152.43, -22.546)),
    _of("R-449A", "R449A.mix", 60, (21.4058, 2033.22, -21.416), (21.6929, 2142.30, -22.577)),
    _of("R-454B", "R454B.mix", 55, (21.7836, 2123.05, -15.285), (21.9301, 2204.17, -11.579)),
)}


def _known(name: str) -> Refrigerant:
    if name not in REFRIGERANTS:
        raise UnknownName("refrigerant", name, REFRIGERANTS)
    return REFRIGERANTS[name]


@lru_cache(maxsize=16)
def _state(fluid: str) -> Any:
    from CoolProp.CoolProp import AbstractState  # over a second, for those alone who have a refrigerant in hand

    return AbstractState("HEOS", fluid)


@lru_cache(maxsize=64)
def _span(name: str, side: Side) -> tuple[float, float]:
    """The pressures (Pa) at the ends of a refrigerant's table."""
    known = _known(name)
    return _pressure(known, side, known.low), _pressure(known, side, known.high)


def _solved(known: Refrigerant, inputs: str, one: float, two: float, wanted: str) -> float:
    import CoolProp

    with _ONE_AT_A_TIME:
        state = _state(known.fluid)
        try:
            state.update(getattr(CoolProp, inputs), one, two)
            return float(getattr(state, wanted)())
        except ValueError:
            raise FindingMisfit(f"{known.id} has no saturation there", expected="conditions inside its table") from None


@lru_cache(maxsize=4096)
def _pressure(known: Refrigerant, side: Side, celsius: float) -> float:
    return _solved(known, "QT_INPUTS", float(SIDES.index(side)), celsius + ZERO, "p")


@lru_cache(maxsize=4096)
def _temperature(known: Refrigerant, side: Side, pressure: float) -> float:
    return _solved(known, "PQ_INPUTS", pressure, float(SIDES.index(side)), "T") - ZERO


def saturation_pressure(refrigerant: str, side: Side, celsius: float, rough: bool = False) -> float:
    """Pa absolute at which the refrigerant boils (bubble) or condenses (dew).

    Raises UnknownName for the refrigerant and FindingMisfit outside its table.
    """
    known = _known(refrigerant)
    if not known.low <= celsius <= known.high:
        raise FindingMisfit(f"{refrigerant} is not tabled at {celsius:g} °C",
                            expected=f"{known.low:g} to {known.high:g} °C")
    if rough:
        a, b, c = known.rough[side]
        return exp(a - b / (celsius + ZERO + c))
    return _pressure(known, side, celsius)


def saturation_temperature(refrigerant: str, side: Side, pressure: float, rough: bool = False) -> float:
    """°C at which the refrigerant boils (bubble) or condenses (dew) under `pressure`, Pa absolute.

    Raises UnknownName for the refrigerant and FindingMisfit outside its table.
    """
    known = _known(refrigerant)
    if rough:
        a, b, c = known.rough[side]
        return b / (a - log(max(pressure, 1.0))) - c - ZERO
    low, high = _span(refrigerant, side)
    if not low <= pressure <= high:
        raise FindingMisfit(f"{refrigerant} is not tabled at {pressure / 1e5:g} bar absolute",
                            expected=f"{low / 1e5:.3g} to {high / 1e5:.3g} bar absolute")
    return _temperature(known, side, pressure)


def glide(refrigerant: str, pressure: float) -> float:
    """K between bubble and dew at `pressure`, Pa absolute; 0 for a pure refrigerant."""
    dew, bubble = (saturation_temperature(refrigerant, side, pressure) for side in ("dew", "bubble"))
    return dew - bubble


def superheat(refrigerant: str, pressure: float, celsius: float) -> float:
    """K by which vapour at `celsius` is above its dew point at `pressure`, Pa absolute."""
    return celsius - saturation_temperature(refrigerant, "dew", pressure)


def subcooling(refrigerant: str, pressure: float, celsius: float) -> float:
    """K by which liquid at `celsius` is below its bubble point at `pressure`, Pa absolute."""
    return saturation_temperature(refrigerant, "bubble", pressure) - celsius
