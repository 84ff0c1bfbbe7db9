"""The curve of an expectation as one SVG picture: axes, the usual range as a band, the expected value as a line."""

from __future__ import annotations

from math import floor, log10
from xml.etree import ElementTree as Xml

from api.chart_sheets import FONT
from api.expect import Expectation, Row

WIDTH, HEIGHT = 720, 440
LEFT, RIGHT, TOP, BOTTOM = 76, 24, 74, 58
STEEP = 30.0
"""From this ratio of the highest to the lowest value on, the upright axis is logarithmic."""


def expectation_svg(found: Expectation) -> str:
    """The picture. An expectation without a circumstance has no curve; its one value is drawn across."""
    rows = found.rows if len(found.rows) > 1 else (found.rows[0], Row(1.0, *_values(found.rows[0])))
    plot = _Plot(rows)
    svg = Xml.Element("svg", {
        "xmlns": "http://www.w3.org/2000/svg", "width": str(WIDTH), "height": str(HEIGHT),
        "viewBox": f"0 0 {WIDTH} {HEIGHT}", "font-family": FONT, "font-size": "13",
    })
    Xml.SubElement(svg, "title").text = f"{found.title}; {found.parameters}"
    Xml.SubElement(svg, "rect", {"width": "100%", "height": "100%", "fill": "white"})
    _text(svg, LEFT, 26, found.title, size=17, weight="bold")
    _text(svg, LEFT, 46, found.parameters, fill="#555")
    _text(svg, LEFT - 8, TOP - 10, found.unit, anchor="end", weight="bold")
    for value in plot.upright:
        y = plot.y(value)
        _line(svg, LEFT, y, WIDTH - RIGHT, y, "#ddd")
        _text(svg, LEFT - 8, y + 4, f"{value:g}", anchor="end")
    for value in plot.across if found.axis else ():
        x = plot.x(value)
        _line(svg, x, TOP, x, HEIGHT - BOTTOM, "#eee")
        _text(svg, x, HEIGHT - BOTTOM + 18, f"{value:g}", anchor="middle")
    outline = [(r.at, r.high) for r in rows] + [(r.at, r.low) for r in reversed(rows)]
    Xml.SubElement(svg, "polygon", {"points": plot.points(outline), "fill": "#9ec5e8", "fill-opacity": "0.6"})
    Xml.SubElement(svg, "polyline", {
        "points": plot.points([(r.at, r.expected) for r in rows]), "fill": "none", "stroke": "#0b4f8a",
        "stroke-width": "2.5",
    })
    _line(svg, LEFT, TOP, LEFT, HEIGHT - BOTTOM, "#333")
    _line(svg, LEFT, HEIGHT - BOTTOM, WIDTH - RIGHT, HEIGHT - BOTTOM, "#333")
    _text(svg, (LEFT + WIDTH - RIGHT) / 2, HEIGHT - BOTTOM + 40, found.axis, anchor="middle", weight="bold")
    _text(svg, WIDTH - RIGHT, TOP - 10, "line: expected; band: 19 good ones in 20", anchor="end", fill="#555")
    return Xml.tostring(svg, encoding="unicode") + "\n"


def _values(row: Row) -> tuple[float, float, float]:
    return row.low, row.expected, row.high


class _Plot:
    """Where values lie on the sheet, and the round ones that are marked."""

    def __init__(self, rows: tuple[Row, ...]) -> None:
        self.first, self.last = rows[0].at, rows[-1].at
        low, high = min(r.low for r in rows), max(r.high for r in rows)
        self.steep = low > 0 and high / low > STEEP
        margin = (high - low or abs(high) or 1.0) * 0.05
        self.low, self.high = (low / 1.1, high * 1.1) if self.steep else (low - margin, high + margin)
        self.across = _round_values(self.first, self.last)
        self.upright = _decades(self.low, self.high) if self.steep else _round_values(self.low, self.high)

    def x(self, value: float) -> float:
        return LEFT + (value - self.first) / (self.last - self.first) * (WIDTH - LEFT - RIGHT)

    def y(self, value: float) -> float:
        low, high, at = (log10(v) for v in (self.low, self.high, value)) if self.steep else (self.low, self.high, value)
        return HEIGHT - BOTTOM - (at - low) / (high - low) * (HEIGHT - TOP - BOTTOM)

    def points(self, values: list[tuple[float, float]]) -> str:
        return " ".join(f"{self.x(x):.2f},{self.y(y):.2f}" for x, y in values)


def _round_values(low: float, high: float, about: int = 8) -> list[float]:
    """Round values between low and high, about so many."""
    rough = (high - low) / about
    power = 10.0 ** floor(log10(rough))
    step = next(s * power for s in (1, 2, 5, 10) if s * power >= rough * 0.999)
    first = -floor(-low / step)
    return [round((first + i) * step, 12) for i in range(int((high - first * step) / step + 1e-9) + 1)]


def _decades(low: float, high: float) -> list[float]:
    """1, 2 and 5 of every power of ten between low and high."""
    powers = range(floor(log10(low)), floor(log10(high)) + 1)
    return [v for p in powers for v in (10.0**p, 2 * 10.0**p, 5 * 10.0**p) if low <= v <= high]


def _line(svg: Xml.Element, x: float, y: float, to_x: float, to_y: float, stroke: str) -> None:
    Xml.SubElement(svg, "line", {
        "x1": f"{x:.1f}", "y1": f"{y:.1f}", "x2": f"{to_x:.1f}", "y2": f"{to_y:.1f}", "stroke": stroke,
    })


def _text(
    svg: Xml.Element, x: float, y: float, text: str, *, anchor: str = "start", size: int = 13, fill: str = "#222",
    weight: str = "normal",
) -> None:
    Xml.SubElement(svg, "text", {
        "x": f"{x:.1f}", "y": f"{y:.1f}", "text-anchor": anchor, "font-size": str(size), "fill": fill,
        "font-weight": weight,
    }).text = text
