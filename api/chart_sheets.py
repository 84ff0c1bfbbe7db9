"""A path as sheets to print: cautions first, then boxes from left to right, then how each step is done."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal
from xml.etree import ElementTree as Xml

from api.chart import cautions_of, end_words, orders_of, switching_words, title_words
from api.chart_layout import (
    GAP,
    LEADING,
    MARGIN,
    PAD,
    SIGN,
    SIZE,
    TOP,
    Layout,
    Line,
    Paper,
    Placed,
    lines_of,
    wrapped,
)
from graph.policy.path_answers import Path

FONT = "Helvetica, Arial, 'Liberation Sans', sans-serif"
Kind = Literal["head", "text", "sign", "item"]


def chart_svg(path: Path, paper: Paper = "A4") -> str:
    """The whole chart as one SVG document, its sheets below one another; printed, each is a page."""
    layout = Layout(path, paper)
    width, height = layout.size
    front, back = _flowed(layout, _front(path)), _flowed(layout, _back(path))
    sheets = list(layout.sheets())
    where = {p.box.node.number: len(front) + i for i, sheet in enumerate(sheets, 1) for p in sheet}
    pages = len(front) + len(sheets) + len(back)
    svg = Xml.Element("svg", {
        "xmlns": "http://www.w3.org/2000/svg", "width": f"{width}pt", "height": f"{height * pages:.1f}pt",
        "viewBox": f"0 0 {width} {height * pages:.1f}", "font-family": FONT, "font-size": f"{SIZE:g}",
    })
    Xml.SubElement(svg, "title").text = _title(path)
    Xml.SubElement(svg, "style").text = f"@page {{ size: {width}pt {height}pt; margin: 0 }} svg {{ display: block }}"
    Xml.SubElement(svg, "rect", {"width": "100%", "height": "100%", "fill": "white"})
    for number in range(pages):
        group = Xml.SubElement(svg, "g", {"transform": f"translate({MARGIN:g} {number * height + MARGIN:.1f})"})
        _head(group, layout, f"Sheet {number + 1} of {pages}")
        inside = Xml.SubElement(group, "g", {"transform": f"translate(0 {TOP:g})"})
        tree = number - len(front)
        if 0 <= tree < len(sheets):
            tallest = max(p.top + p.box.height for p in sheets[tree])
            if tallest > layout.room:
                inside.set("transform", f"translate(0 {TOP:g}) scale({layout.room / tallest:.3f})")
            _draw(inside, layout, sheets[tree], where, number + 1)
        else:
            _columns(inside, layout, front[number] if tree < 0 else back[tree - len(sheets)])
    return Xml.tostring(svg, encoding="unicode") + "\n"


def _title(path: Path) -> str:
    return f"{path.title}: {'; '.join(path.given) or 'nothing found yet'}"


def _front(path: Path) -> Iterator[tuple[str, Kind]]:
    """What has to be read before the first step."""
    yield path.sentence, "text"
    for note in path.notes:
        yield note, "text"
    yield "Cautions", "head"
    for caution in cautions_of(path):
        yield f"• {caution}", "item"
    if path.cautions:
        yield "What can hurt you here", "head"
    for hazard in path.cautions:
        yield f"{hazard.title}. {' '.join(hazard.precautions)}", "sign"
    for title, lines in orders_of(path):
        yield title, "head"
        for number, line in enumerate(lines, 1):
            yield f"{number}. {line}", "item"
    if path.end is not None:
        yield end_words(path.end), "head"
        yield path.end.sentence, "text"
        for words in switching_words(path.end.switching):
            yield f"• Before you leave: {words}", "item"


def _back(path: Path) -> Iterator[tuple[str, Kind]]:
    """How each step is done, each kind once."""
    numbers: dict[str, list[int]] = {}
    for node in path.nodes:
        numbers.setdefault(node.id, []).append(node.number)
    for steps in numbers.values():
        node = path.nodes[steps[0] - 1]
        if node.how or (node.trial and node.trial.how):
            yield f"{title_words(node)} (step {', '.join(map(str, steps))})", "head"
            if node.hazards:
                yield SIGN + "; ".join(h.title for h in node.hazards), "sign"
        for how in node.how:
            yield f"• {how}", "item"
        for how in node.trial.how if node.trial else ():
            yield f"• Then try it: {how}", "item"


def _flowed(
    layout: Layout, text: Iterator[tuple[str, Kind]]
) -> list[list[list[Line]]]:
    """Paragraphs in columns on sheets: sheet, column, line."""
    rows = int(layout.room / LEADING)
    columns: list[list[Line]] = [[]]
    before: Kind = "text"
    for words, kind in text:
        indent = 8.0 if kind == "item" else 0.0
        lines = [*lines_of(words, layout.width, kind == "head", indent, kind == "sign")]
        space = [Line("")] if columns[-1] and kind != "item" and (kind, before) != ("sign", "head") else []
        before = kind
        keep = len(lines) + len(space) + (2 if kind == "head" else 0)
        if columns[-1] and len(columns[-1]) + keep > rows:
            columns.append([])
            space = []
        for line in [*space, *lines]:
            if len(columns[-1]) >= rows:
                columns.append([])
            columns[-1].append(line)
    if not columns[0]:
        return []
    return [columns[i: i + layout.across] for i in range(0, len(columns), layout.across)]


def _head(group: Xml.Element, layout: Layout, sheet: str) -> None:
    right = layout.size[0] - 2 * MARGIN
    first, *more = wrapped(_title(layout.path), (right - 90) * SIZE / 10, bold=True)
    _text(group, 0, 9, f"{first} …" if more else first, bold=True, size=10)
    _text(group, right, 9, sheet, anchor="end")
    Xml.SubElement(group, "path", {"d": f"M0 14H{right:.1f}", "stroke": "black", "stroke-width": "1"})


def _columns(group: Xml.Element, layout: Layout, columns: Sequence[Sequence[Line]]) -> None:
    for number, lines in enumerate(columns):
        _write(group, number * (layout.width + GAP), 0.0, lines)


def _draw(group: Xml.Element, layout: Layout, sheet: Sequence[Placed], where: dict[int, int], page: int) -> None:
    """Boxes, and from each outcome a line to the step that it leads to, or its number and the sheet it is on."""
    joined = {p.box.node.number: p for p in sheet if not p.first}
    for placed in sheet:
        box, x, y = placed.box, placed.left, placed.top
        Xml.SubElement(group, "rect", {
            "x": f"{x:.1f}", "y": f"{y:.1f}", "width": f"{layout.width:.1f}", "height": f"{box.height:.1f}",
            "fill": "white", "stroke": "black", "stroke-width": "2" if box.node.kind == "repair" else "0.8",
            "rx": "6" if box.node.kind == "ask" else "0",
        })
        _write(group, x + PAD, y + PAD, box.lines, layout.width)
        for place, line in enumerate(box.lines):
            if line.step is None:
                continue
            right, middle = x + layout.width, y + PAD + (place + 0.5) * LEADING
            if line.step in joined:
                _join(group, right, middle, joined[line.step])
            else:
                words = "" if where[line.step] == page else f", sheet {where[line.step]}"
                _text(group, right - PAD, middle + 2.8, f"→ {line.step}{words}", bold=True, anchor="end")


def _join(group: Xml.Element, x: float, y: float, to: Placed) -> None:
    """A curve with an arrow head from a row to the title of a box."""
    to_x, to_y, bend = to.left, to.top + PAD + LEADING / 2, GAP / 2
    Xml.SubElement(group, "path", {
        "d": f"M{x:.1f} {y:.1f}C{x + bend:.1f} {y:.1f} {to_x - bend:.1f} {to_y:.1f} {to_x - 5:.1f} {to_y:.1f}",
        "fill": "none", "stroke": "black", "stroke-width": "0.8",
    })
    Xml.SubElement(group, "path", {"d": f"M{to_x:.1f} {to_y:.1f}l-6 -3v6z", "fill": "black"})


def _write(group: Xml.Element, x: float, y: float, lines: Sequence[Line], width: float = 0.0) -> None:
    for place, line in enumerate(lines):
        top = y + place * LEADING
        if line.rule and width:
            Xml.SubElement(group, "path", {
                "d": f"M{x - PAD:.1f} {top:.1f}h{width:.1f}", "stroke": "black", "stroke-width": "0.3",
            })
        if line.sign:
            left = x + line.indent - 11
            Xml.SubElement(group, "path", {
                "d": f"M{left:.1f} {top + 8.6:.1f}l4.5 -8l4.5 8z", "fill": "none", "stroke": "black",
                "stroke-width": "1", "stroke-linejoin": "round",
            })
            _text(group, left + 4.5, top + 7.9, "!", bold=True, anchor="middle", size=6.5)
        _text(group, x + line.indent, top + 7.8, line.text, line.bold)


def _text(
    group: Xml.Element, x: float, y: float, text: str, bold: bool = False, anchor: str = "start", size: float = SIZE
) -> None:
    if not text:
        return
    style = {"x": f"{x:.1f}", "y": f"{y:.1f}"}
    if bold:
        style["font-weight"] = "bold"
    if anchor != "start":
        style["text-anchor"] = anchor
    if size != SIZE:
        style["font-size"] = f"{size:g}"
    Xml.SubElement(group, "text", style).text = text
