from __future__ import annotations

import re
from functools import cache
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree as Xml

import pytest

from api.chart import WIDTH, chart_text
from api.chart_layout import PAPERS, SIZE, Layout, Paper, text_width, wrapped
from api.chart_sheets import chart_svg
from graph.compile import CompiledModel, compile_model
from graph.context import Asker
from graph.evidence import finding
from graph.policy.lockout import LOCKING_OUT
from graph.policy.path import path_of
from graph.policy.path_answers import Path as Way
from schemas.load import load_data
from schemas.source import parse

ROOT = Path(__file__).parents[2]
ICE_MAKER = ROOT / "fixtures" / "equipment" / "quillmere-c45.yaml"
URN = ROOT / "tests" / "graph" / "machines" / "urn.yaml"
LICENSED = Asker(licences=frozenset({"electrical", "refrigeration"}))
NASTY = "Urn <&> \"quoted\" 'single' ]]> &amp;"
SVG = "{http://www.w3.org/2000/svg}"
HELVETICA = {
    **dict.fromkeys("0123456789abdeghnopqu?_LÄ", 556), **dict.fromkeys("cksvxyzJ", 500), **dict.fromkeys("ijl", 222),
    **dict.fromkeys("ft.,:;!/I ", 278), **dict.fromkeys("r()-", 333), **dict.fromkeys("CDHNRUw", 722),
    **dict.fromkeys("ABEKPSVXY&", 667), **dict.fromkeys("FTZ", 611), **dict.fromkeys("GOQ", 778),
    **dict.fromkeys("mM", 833), "%": 889, "W": 944, "'": 191, "→": 1000, "•": 350, "°": 400, "“": 333, "”": 333,
}
"""Widths in thousandths of the size: Adobe font metrics of Helvetica; memory."""


@cache
def machine(path: Path) -> CompiledModel:
    return compile_model(load_data(parse(path.read_bytes()).data))


@cache
def way(said: str) -> Way:
    model = machine(ICE_MAKER)
    return path_of(model, [finding(model, said, "present")], asker=LICENSED)


@cache
def drawn(said: str, paper: Paper = "A4") -> str:
    return chart_svg(way(said), paper)


def nasty() -> Way:
    """A path on an urn whose titles are full of what a document format might take for its own."""
    data = parse(URN.read_bytes()).data
    data["equipment"]["title"] = NASTY
    data["hazards"]["mains_voltage"]["title"] = NASTY
    data["tests"]["measure_element"]["title"] = NASTY + " so long that it has to be wrapped" * 4
    data["parts"]["thermostat_unit"]["title"] = NASTY
    model = compile_model(load_data(data))
    return path_of(model, [finding(model, "stays_cold", "present")])


def words(text: str) -> str:
    """The words of a text, however they were wrapped."""
    return " ".join(text.replace("\u00a0", " ").split())


def drawn_words(svg: str) -> str:
    return words(" ".join(t.text or "" for t in Xml.fromstring(svg).iter(f"{SVG}text")))


def test_the_text_begins_with_machine_complaint_totals_and_cautions() -> None:
    path, text = way("little_ice"), chart_text(way("little_ice"))
    first = text.splitlines()[0]
    assert first == f"{path.title}: Makes less ice than it used to"
    order = [words(text).index(w) for w in (
        words(path.sentence), words(path.notes[0]), "CAUTIONS", words(path.general_cautions[0]),
        words(path.cautions[0].precautions[0]), "A. TO LOCK OUT THE SUPPLY", LOCKING_OUT[0], "STEPS", "1. ",
        path.nodes[0].title,
    )]
    assert order[:-2] == sorted(order[:-2])
    assert order[-1] > order[-3]
    assert max(map(len, text.splitlines())) <= WIDTH == 100


@pytest.mark.parametrize("said", ["little_ice", "no_ice", "machine_dead"])
def test_every_step_says_what_to_do_what_can_hurt_and_where_each_outcome_leads(said: str) -> None:
    path = way(said)
    blocks = re.split(r"\n\n(?= *\d+\. )", chart_text(path).split("\nSTEPS\n")[1])
    steps = [words(block) for block in blocks if block.strip()]
    assert len(steps) == len(path.nodes)
    for node, block in zip(path.nodes, steps, strict=True):
        assert block.startswith(f"{node.number}. ")
        assert words(node.title) in block
        assert f"about {node.minutes:g} min" in block
        assert all(f"{h.title}" in block for h in node.hazards)
        assert ("/!\\ Danger" in block) == bool(node.hazards)
        assert all(f"{p.quantity} x {words(p.title)} ({p.number})" in block for p in node.parts)
        switched = [node.switching, *([node.trial.switching] if node.trial else [])]
        switched += [branch.end.switching for branch in node.branches if branch.end is not None]
        assert ("LOCK OUT THE SUPPLY" in block) == any(LOCKING_OUT[0] in lines for lines in switched)
        for branch in node.branches:
            if branch.step is not None:
                assert f"=> step {branch.step}" in block
            elif branch.end is not None:
                assert f"=> {branch.end.title.upper()}" in block
            else:
                assert "=> ask again from here" in block
            if node.kind != "ask":
                assert words(branch.title) in block


@pytest.mark.parametrize("said", ["little_ice", "no_ice"])
@pytest.mark.parametrize("paper", ["A4", "A3"])
def test_the_drawing_is_well_formed_and_shows_every_step_with_its_dangers(said: str, paper: Paper) -> None:
    path, told = way(said), drawn_words(drawn(said, paper))
    for node in path.nodes:
        assert f"{node.number} {node.kind.upper()}: {words(node.title)}" in told
        if node.hazards:
            assert words(f"Danger: {'; '.join(h.title for h in node.hazards)}") in told
    for caution in path.cautions:
        assert words(caution.title) in told
        assert all(words(p) in told for p in caution.precautions)
    assert all(words(c) in told for c in path.general_cautions)
    assert words(path.sentence) in told
    assert words(path.notes[0]) in told, "that the figures are invented"
    assert all(words(line) in told for line in LOCKING_OUT)
    assert all(words(how) in told for node in path.nodes for how in node.how)


@pytest.mark.parametrize("said", ["little_ice", "no_ice", "machine_dead"])
@pytest.mark.parametrize("paper", ["A4", "A3"])
def test_no_box_overlaps_another_or_leaves_its_sheet(said: str, paper: Paper) -> None:
    layout = Layout(way(said), paper)
    sheets = list(layout.sheets())
    assert sorted(p.box.node.number for s in sheets for p in s) == [n.number for n in way(said).nodes]
    for sheet in sheets:
        for placed in sheet:
            assert placed.left >= 0
            assert placed.top >= 0
            assert placed.left + layout.width <= layout.size[0] - 56
            assert placed.top + placed.box.height <= layout.room
        for a, b in combinations(sheet, 2):
            beside = abs(a.left - b.left) >= layout.width
            below = a.top + a.box.height <= b.top or b.top + b.box.height <= a.top
            assert beside or below


def test_a_box_that_is_too_tall_for_a_sheet_is_made_smaller() -> None:
    data = parse(URN.read_bytes()).data
    data["hazards"] = {f"hazard_{i}": {"title": "Danger " * 25, "precautions": ["Care"]} for i in range(12)}
    for test in data["tests"].values():
        test["hazards"] = list(data["hazards"])
    model = compile_model(load_data(data))
    path = path_of(model, [finding(model, "stays_cold", "present")], most_nodes=1)
    layout = Layout(path, "A4")
    tallest = next(layout.sheets())[0].box.height
    assert (path.nodes[0].kind, tallest > layout.room) == ("test", True)
    scale, = re.findall(r"scale\(([\d.]+)\)", chart_svg(path))
    assert float(scale) * tallest == pytest.approx(layout.room, rel=1e-2)


def test_a_line_leads_to_each_step_or_the_sheet_it_is_on_is_named() -> None:
    path = way("little_ice")
    root = Xml.fromstring(drawn("little_ice"))
    curves = [p for p in root.iter(f"{SVG}path") if "C" in p.get("d", "")]
    named = re.findall(r"→ (\d+)(?:, sheet \d+)?(?= |$)", drawn_words(drawn("little_ice")))
    assert len(curves) + len(named) == len(path.nodes) - 1


def test_text_fits_the_boxes_and_is_large_enough_to_read() -> None:
    """Widths by Adobe's font metrics of Helvetica, with a tenth more for bold and for other sans-serif faces."""
    layout = Layout(way("no_ice"), "A4")
    lines = [line for s in layout.sheets() for p in s for line in p.box.lines]
    for line in lines:
        width = sum(HELVETICA.get(c, 600) for c in line.text) * SIZE / 1000
        assert width * (1.1 if line.bold else 1) + line.indent <= layout.width
    assert SIZE >= 8
    texts = [t for t in Xml.fromstring(drawn("no_ice")).iter(f"{SVG}text") if t.text != "!"]
    assert min(float(t.get("font-size", SIZE)) for t in texts) >= 8


def test_nothing_is_said_by_colour_alone() -> None:
    svg = drawn("no_ice")
    assert set(re.findall(r'(?:fill|stroke)="([^"]*)"', svg)) <= {"black", "white", "none"}


def test_printed_each_sheet_is_a_page() -> None:
    root = Xml.fromstring(drawn("little_ice"))
    sheets = re.findall(r"Sheet (\d+) of (\d+)", drawn_words(drawn("little_ice")))
    width, height = PAPERS["A4"]
    assert [int(n) for n, _ in sheets] == list(range(1, int(sheets[0][1]) + 1))
    assert root.get("width") == f"{width}pt"
    assert float(root.get("height", "0pt")[:-2]) == pytest.approx(height * len(sheets), abs=0.1)


def test_titles_of_documents_are_escaped() -> None:
    path = nasty()
    svg = chart_svg(path)
    told = drawn_words(svg)
    shown = words(NASTY)
    assert "<&>" not in svg
    assert "&lt;&amp;&gt;" in svg
    assert told.count(shown) >= 3
    assert shown in (Xml.fromstring(svg).findtext(f"{SVG}title") or "")
    assert not [e for e in Xml.fromstring(svg).iter() if not e.tag.startswith(SVG)]


def test_the_same_path_is_drawn_the_same() -> None:
    assert chart_svg(nasty()) == chart_svg(nasty())
    assert chart_text(nasty()) == chart_text(nasty())


def test_a_visit_that_is_over_is_a_chart_of_its_end() -> None:
    model = machine(URN)
    found = [finding(model, *f) for f in (
        ("stays_cold", "present"), ("watch_thermostat", "opens"), ("replace_thermostat", "runs"))]
    path = path_of(model, found)
    assert "CLOSE THE JOB" in chart_text(path)
    assert "CLOSE THE JOB" in drawn_words(chart_svg(path))


def test_what_to_return_with_is_on_the_chart() -> None:
    model = machine(URN)
    path = path_of(model, [finding(model, "stays_cold", "present")], asker=Asker(parts=frozenset()))
    for told in (words(chart_text(path)), drawn_words(chart_svg(path))):
        assert "RETURN WITH: 1 x Thermostat (Q-100)" in told


def test_the_outcomes_of_a_question_are_of_its_title_not_of_its_words() -> None:
    """“Do you hear the compressor?” asks after “The compressor is not heard”: a yes would say the wrong thing."""
    path = way("no_ice")
    asks = [n for n in path.nodes if n.kind == "ask"]
    assert asks
    text = chart_text(path)
    assert "it is so" in text
    assert "it is not so" in text
    assert not re.search(r"> [^\n]*%, [a-z ]+: (yes|no) =>", text)


@pytest.mark.parametrize("text", [
    "", "word", "a word that isn't long", "W" * 60, "57 % of all at 32 °C", f"{'x' * 30} {'y' * 30}",
])
def test_wrapping_loses_nothing_and_keeps_a_number_with_its_unit(text: str) -> None:
    lines = list(wrapped(text, 80))
    assert "".join(lines).replace(" ", "").replace("\u00a0", "") == text.replace(" ", "")
    assert all(text_width(line) <= 80 for line in lines)
    assert not [line for line in lines if line.startswith(("%", "°"))]
