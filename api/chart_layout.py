"""How a path is shared out over sheets of paper: the box of every step, and where it goes.

Where the boxes of a sheet go is Graphviz' work (E. Gansner, E. Koutsofios, S. North and K.-P. Vo, "A technique for
drawing directed graphs", 1993). Lengths are points, 72 to an inch, so that the text prints in its size.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from threading import Lock
from typing import Literal

from api.chart import (
    branch_words,
    came_words,
    effort_words,
    needs_words,
    outcome_words,
    parts_words,
    switching_words,
    title_words,
)
from graph.explain import percent
from graph.policy.path_answers import Path, PathNode

Paper = Literal["A4", "A3"]
PAPERS: dict[Paper, tuple[float, float]] = {"A4": (841.9, 595.3), "A3": (1190.6, 841.9)}
"""Width and height, landscape."""
ACROSS: dict[Paper, int] = {"A4": 4, "A3": 6}
"""Boxes from left to right."""
MARGIN, TOP, GAP, APART, PAD = 28.0, 24.0, 30.0, 9.0, 5.0
ELSEWHERE = 66.0
"""Room in an outcome's row for naming a step on another sheet."""
SIZE, LEADING = 8.0, 10.0
"""Of the text; 8 points is what a technician reads at arm's length."""
SIGN = "Danger: "
_NARROW, _WIDE = frozenset("fijlrtI.,:;'|!()[]/ -"), frozenset("mwMW@%—")
_SPACE = re.compile(r"(?<=\d) (?=%|°)")  # a number stays with its unit
_GRAPHVIZ = Lock()  # its library keeps one state for the whole process


@dataclass(frozen=True, slots=True)
class Line:
    """One line of text; `sign` draws the warning triangle before it, `step` is where an outcome leads."""

    text: str
    bold: bool = False
    sign: bool = False
    indent: float = 0.0
    step: int | None = None
    rule: bool = False


@dataclass(frozen=True, slots=True)
class Box:
    """A step to draw: its lines, top to bottom."""

    node: PathNode
    lines: tuple[Line, ...]

    @property
    def height(self) -> float:
        """With the space around the text."""
        return len(self.lines) * LEADING + 2 * PAD


def text_width(text: str, bold: bool = False) -> float:
    """Points that a text takes at most in the common sans-serif faces."""
    ems = sum(0.32 if c in _NARROW else 0.92 if c in _WIDE else 0.72 if c.isupper() else 0.57 for c in text)
    return ems * SIZE * (1.07 if bold else 1.0)


def wrapped(text: str, width: float, bold: bool = False) -> Iterator[str]:
    """Lines no wider than `width`; a word that is wider by itself is broken."""
    line = ""
    for word in _SPACE.sub("\u00a0", text).split(" "):
        rest = word
        while rest:
            longer = f"{line} {rest}" if line else rest
            if text_width(longer, bold) <= width:
                line, rest = longer, ""
            elif line:
                yield line
                line = ""
            else:
                fits = next((n for n in range(len(rest), 1, -1) if text_width(rest[:n], bold) <= width), 1)
                yield rest[:fits]
                rest = rest[fits:]
    if line:
        yield line


def lines_of(text: str, width: float, bold: bool = False, indent: float = 0.0, sign: bool = False) -> Iterator[Line]:
    """A wrapped text as lines."""
    room = width - indent - (11 if sign else 0)
    for place, part in enumerate(wrapped(text, room, bold)):
        yield Line(part, bold, sign and place == 0, indent + (11 if sign else 0))


def box_of(path: Path, node: PathNode, width: float, first: bool) -> Box:
    """The box of one step: what to do, what it takes, what can hurt, and a row for each outcome.

    The first box of a tree says what it follows, as no line leads to it.
    """
    inner = width - 2 * PAD
    lines = [*lines_of(f"{node.number}  {title_words(node)}", inner, bold=True)]
    if first and node.comes_from is not None:
        lines += lines_of(f"({came_words(path, node)})", inner)
    lines += lines_of(effort_words(node, path.currency), inner)
    if node.hazards:
        lines += lines_of(SIGN + "; ".join(h.title for h in node.hazards), inner, bold=True, sign=True)
    if needs_words(node):
        lines += lines_of(f"Needs: {needs_words(node)}", inner)
    if node.parts:
        lines += lines_of(f"Parts: {parts_words(node.parts)}", inner)
    for words in switching_words(node.switching):
        lines += lines_of(f"• {words}", inner)
    if node.trial is not None:
        for words in switching_words(node.trial.switching):
            lines += lines_of(f"• Then: {words}", inner)
        lines += lines_of(f"• Then try it: {node.trial.title}", inner)
    for branch in node.branches:
        room = inner if branch.step is None else inner - ELSEWHERE
        row = [*lines_of(f"{percent(branch.chance)}  {outcome_words(node, branch)}", room)]
        leads = [*lines_of(f"→ {branch_words(branch)}", inner, bold=branch.end is not None, indent=10)]
        if branch.end is not None:
            for words in switching_words(branch.end.switching):
                leads += lines_of(f"• Before you leave: {words}", inner, indent=10)
        row[0] = Line(row[0].text, rule=True, step=branch.step)
        lines += row if branch.step is not None else [*row, *leads]
    return Box(node, tuple(lines))


@dataclass(frozen=True, slots=True)
class Placed:
    """A box with its left and top; `first` where no line leads to it on this sheet."""

    box: Box
    left: float
    top: float
    first: bool


class Layout:
    """Shares out the boxes over sheets of one paper."""

    def __init__(self, path: Path, paper: Paper) -> None:
        self.path = path
        self.size = PAPERS[paper]
        self.across = ACROSS[paper]
        self.width = (self.size[0] - 2 * MARGIN - (self.across - 1) * GAP) / self.across
        self.room = self.size[1] - 2 * MARGIN - TOP
        self.box = cache(self._box)

    def _box(self, number: int, first: bool) -> Box:
        return box_of(self.path, self.path.nodes[number - 1], self.width, first)

    def sheets(self) -> Iterator[tuple[Placed, ...]]:
        """Sheet by sheet: as many levels of a step as fit, then what was left over, in the order of the steps."""
        waiting = [1] if self.path.nodes else []
        while waiting:
            sheet: list[Placed] = []
            column = 0
            while column < self.across and waiting:
                block, waiting = self._block(waiting, self.across - column)
                left = column * (self.width + GAP)
                sheet += [Placed(p.box, p.left + left, p.top, p.first) for p in block]
                column += 1 + round(max(p.left for p in block) / (self.width + GAP))
            yield tuple(sheet)

    def _block(self, waiting: list[int], across: int) -> tuple[list[Placed], list[int]]:
        """Trees that start in one column and are `across` wide at most, and the steps that wait for another place."""
        columns: dict[int, int] = {}
        best: list[Placed] = []
        left: list[int] = []
        for start in waiting:
            level = [start]
            while level:
                below: list[int] = []
                for number in level:
                    parent = self.path.nodes[number - 1].comes_from
                    column = 0 if number == start else columns[parent or 0] + 1
                    found = self._placed({**columns, number: column}) if column < across else None
                    if found is None:
                        left.append(number)
                        continue
                    columns[number], best = column, found
                    below += [b.step for b in self.path.nodes[number - 1].branches if b.step is not None]
                level = below
        return best, sorted(left)

    def _placed(self, columns: dict[int, int]) -> list[Placed] | None:
        """The boxes where they belong, or None where they are too tall for the sheet together; one box never is.

        An unseen box of no width holds the trees of a block in order.
        """
        boxes = {n: self.box(n, column == 0) for n, column in columns.items()}
        if len(columns) == 1:
            return [Placed(box, 0.0, 0.0, True) for box in boxes.values()]
        with _GRAPHVIZ:
            import pygraphviz  # type: ignore[import-untyped]  # slow to import, and only charts are drawn with it

            tree = pygraphviz.AGraph(
                directed=True, rankdir="LR", ordering="out", nodesep=APART / 72, ranksep=GAP / 72, splines="false",
            )
            tree.node_attr.update(shape="box", fixedsize="true", label="")
            tree.add_node("0", width=0.01, height=0.01)
            for number, box in boxes.items():
                tree.add_node(str(number), width=self.width / 72, height=box.height / 72)
            for number, column in columns.items():
                tree.add_edge(str(boxes[number].node.comes_from or 0) if column else "0", str(number))
            tree.layout(prog="dot")
            middles = {n: -float(tree.get_node(str(n)).attr["pos"].split(",")[1]) for n in boxes}
        tops = {n: middles[n] - box.height / 2 for n, box in boxes.items()}
        highest = min(tops.values())
        if max(tops[n] + box.height for n, box in boxes.items()) - highest > self.room:
            return None
        return [
            Placed(box, columns[n] * (self.width + GAP), tops[n] - highest, columns[n] == 0)
            for n, box in boxes.items()
        ]
