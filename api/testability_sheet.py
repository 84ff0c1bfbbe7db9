"""The testability report as an SVG sheet: a bar a crew, what a visit costs beside it, its worst group below."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from textwrap import wrap

from graph.testability.answers import CrewTestability, Testability
from graph.testability.report import whole_percent

WIDTH, LEFT, BAR, HIGH = 1000, 24, 520, 26
COST = LEFT + BAR + 30
COLUMNS = (COST, COST + 130, COST + 235, COST + 345)
LETTERS = 135
"""Letters a line of small print."""
STYLE = """
text { font: 13px system-ui, "DejaVu Sans", sans-serif; fill: #1c2430; } .title { font-size: 18px; font-weight: 600; }
.crew { font-weight: 600; font-size: 14px; } .dim { fill: #5a6675; font-size: 12px; }
.in { fill: #fff; font-size: 12px; }
.in.three, .in.more { fill: #1c2430; }
rect.one { fill: #0b5c9e; } rect.two { fill: #2f7ab5; } rect.three { fill: #93bede; } rect.more { fill: #d9a441; }
rect.unseen { fill: #b3392f; } .rule { stroke: #dde3e9; }
"""
KINDS = (("one", "down to one failure mode"), ("two", "to two"), ("three", "to three"), ("more", "to more"),
         ("unseen", "not seen at all"))


def testability_svg(report: Testability, title: str, currency: str) -> str:
    """The sheet."""
    pieces, down = [], 112.0
    for crew in report.crews:
        drawn, down = _crew(crew, down, currency)
        pieces += drawn
    height = int(down)
    head = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" height="{height}" '
        'role="img">',
        f"<title>Testability of {escape(title)}</title><style>{STYLE}</style>",
        f'<rect width="{WIDTH}" height="{height}" fill="#fff"/>',
        f'<text x="{LEFT}" y="30" class="title">{escape(title)}</text>',
        f'<text x="{LEFT}" y="52" class="dim">How far faults can be told apart: the share of the calls with a single '
        "fault, by what its questions and tests leave open for each crew.</text>",
        *_legend(),
    ]
    if any(crew.cost for crew in report.crews):
        for x, word in zip(COLUMNS, ("tests", "minutes", currency, "put right"), strict=True):
            head.append(f'<text x="{x}" y="80" class="dim">{escape(word)}</text>')
    return "\n".join([*head, *pieces, "</svg>"])


def _legend() -> Iterator[str]:
    x = float(LEFT)
    for kind, words in KINDS:
        yield f'<rect x="{x:.0f}" y="69" width="12" height="12" class="{kind}"/>'
        yield f'<text x="{x + 17:.0f}" y="80" class="dim">{words}</text>'
        x += 32 + 6.3 * len(words)


def _crew(crew: CrewTestability, down: float, currency: str) -> tuple[list[str], float]:
    """One crew from `down` on, and where the next begins."""
    pieces = [f'<text x="{LEFT}" y="{down:.0f}" class="crew">{escape(crew.title)}'
              f'<tspan class="dim" dx="10">{crew.observations} questions and tests</tspan></text>']
    x, top = float(LEFT), down + 9
    for (kind, words), share in zip(KINDS, _parts(crew), strict=True):
        wide = BAR * share
        if wide > 0.3:
            pieces.append(f'<rect x="{x:.1f}" y="{top:.0f}" width="{wide:.1f}" height="{HIGH}" class="{kind}">'
                          f"<title>{words}: {whole_percent(share)}</title></rect>")
        if wide > 40:
            pieces.append(f'<text x="{x + 6:.1f}" y="{top + 17:.0f}" class="in {kind}">{whole_percent(share)}</text>')
        x += wide
    if crew.cost is not None:
        c = crew.cost
        said = (
            f"{c.tests.mean:.1f} ± {c.tests.within:.1f}", f"{c.minutes.mean:.0f} ± {c.minutes.within:.0f}",
            f"{c.money.mean:.0f} ± {c.money.within:.0f}", whole_percent(c.first_visit),
        )
        pieces += [f'<text x="{at}" y="{top + 17:.0f}">{words}</text>' for at, words in zip(COLUMNS, said, strict=True)]
    down = top + HIGH + 17
    by_count = f"By count of failure modes: {whole_percent(crew.isolated_to_1.by_count)} of the detected to one, " \
               f"{whole_percent(crew.isolated_to_3.by_count)} to three or fewer."
    for line in [by_count, *(wrap("Worst group: " + crew.groups[0].sentence, LETTERS) if crew.groups else ())]:
        pieces.append(f'<text x="{LEFT}" y="{down:.0f}" class="dim">{escape(line)}</text>')
        down += 16
    pieces.append(f'<line class="rule" x1="{LEFT}" x2="{WIDTH - LEFT}" y1="{down - 4:.0f}" y2="{down - 4:.0f}"/>')
    return pieces, down + 22


def _parts(crew: CrewTestability) -> tuple[float, ...]:
    """The five parts of a bar, adding up to 1."""
    seen = crew.detected.by_rate
    one, two, three = (s.by_rate * seen for s in (crew.isolated_to_1, crew.isolated_to_2, crew.isolated_to_3))
    return one, two - one, three - two, seen - three, 1 - seen
