"""Money against the chance to finish, as an SVG to look at or print."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from html import escape
from math import log10

from graph.explain import percent
from graph.kit.answers import FrontierPoint, Kit

_Scale = Callable[[float], float]
WIDTH, HEIGHT = 860, 520
LEFT, RIGHT, TOP, BOTTOM = 70, 30, 74, 64
STYLE = """
text { font: 13px system-ui, "DejaVu Sans", sans-serif; fill: #1c2430; } .title { font-size: 18px; font-weight: 600; }
.dim { fill: #5a6675; } .grid { stroke: #dde3e9; } .step { fill: none; stroke: #0b5c9e; stroke-width: 2; }
.under { fill: #0b5c9e; fill-opacity: .08; } .point { fill: #fff; stroke: #0b5c9e; stroke-width: 2; }
.chosen { fill: #8a5a00; stroke: none; } .limit { stroke: #8a5a00; stroke-dasharray: 5 4; }
"""


def frontier_svg(kit: Kit, currency: str) -> str:
    """The plot: a step for every kit that no other beats, the kit that was chosen, and what no kit exceeds."""
    dearest = max([point.price for point in kit.frontier] + [kit.price, 1.0])
    step = _round_step(dearest / 6)
    most = step * (int(dearest / step) + 1)

    def x(price: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * price / most

    def y(chance: float) -> float:
        return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * chance

    pieces = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" '
        'role="img">',
        f"<title>Money against the chance to finish</title><style>{STYLE}</style>",
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#fff"/>',
        f'<text x="{LEFT}" y="28" class="title">What money in parts buys: the chance to finish in one visit</text>',
        f'<text x="{LEFT}" y="50" class="dim">Each point is a kit that no other beats in price and chance at once.'
        "</text>",
    ]
    for tenth in range(0, 11, 2):
        pieces += _grid(LEFT, y(tenth / 10), WIDTH - RIGHT, y(tenth / 10))
        pieces.append(f'<text x="{LEFT - 10}" y="{y(tenth / 10) + 4:.1f}" text-anchor="end">{tenth * 10} %</text>')
    for i in range(int(most / step) + 1):
        pieces += _grid(x(i * step), TOP, x(i * step), HEIGHT - BOTTOM)
        pieces.append(
            f'<text x="{x(i * step):.1f}" y="{HEIGHT - BOTTOM + 20}" text-anchor="middle">{i * step:g}</text>'
        )
    pieces.append(f'<text x="{WIDTH - RIGHT}" y="{HEIGHT - 18}" text-anchor="end" class="dim">price of the parts '
                  f"brought, {escape(currency)}</text>")
    line = "".join(_steps(kit.frontier, x, y))
    if line:
        pieces.append(f'<path class="under" d="{line} H{x(most):.1f} V{y(0):.1f} H{x(0):.1f} Z"/>')
        pieces.append(f'<path class="step" d="{line} H{x(most):.1f}"/>')
    pieces.append(f'<line class="limit" x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{y(kit.chance_at_most):.1f}" '
                  f'y2="{y(kit.chance_at_most):.1f}"/>')
    pieces.append(f'<text x="{WIDTH - RIGHT}" y="{y(kit.chance_at_most) - 6:.1f}" text-anchor="end" class="dim">'
                  f"every part there is: {percent(kit.chance_at_most)}</text>")
    for point in kit.frontier:
        names = ", ".join(f"{n} x {name}" for name, n in point.parts.items()) or "no part"
        pieces.append(
            f'<circle class="point" cx="{x(point.price):.1f}" cy="{y(point.chance_to_finish):.1f}" r="4">'
            f"<title>{point.price:.2f} {escape(currency)}: {percent(point.chance_to_finish)} with {escape(names)}"
            "</title></circle>"
        )
    here = x(kit.price), y(kit.chance_to_finish)
    side = "end" if here[0] > WIDTH * 0.6 else "start"
    shift = -12 if side == "end" else 12
    pieces.append(f'<circle class="chosen" cx="{here[0]:.1f}" cy="{here[1]:.1f}" r="7"/>')
    pieces.append(
        f'<text x="{here[0] + shift:.1f}" y="{here[1] + 24:.1f}" text-anchor="{side}">this kit: {kit.price:.2f} '
        f"{escape(currency)}, {percent(kit.chance_to_finish)}</text></svg>"
    )
    return "\n".join(pieces)


def _steps(points: tuple[FrontierPoint, ...], x: _Scale, y: _Scale) -> Iterator[str]:
    for i, point in enumerate(points):
        across, up = x(point.price), y(point.chance_to_finish)
        yield f"M{across:.1f} {up:.1f}" if i == 0 else f" H{across:.1f} V{up:.1f}"


def _grid(x1: float, y1: float, x2: float, y2: float) -> list[str]:
    return [f'<line class="grid" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>']


def _round_step(rough: float) -> float:
    """The next 1, 2 or 5 times a power of ten."""
    power = 10.0 ** int(log10(rough)) if rough >= 1 else 0.1
    return next(power * k for k in (1, 2, 5, 10, 20) if power * k >= rough)
