from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.closeouts.table import COLUMNS, NotATable, read, written
from schemas.closeouts import Closeout

NAMES = st.from_regex(r"[a-z][a-z0-9_]{0,10}", fullmatch=True)
TEXT = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S", "Zs")), max_size=40).map(str.strip)
NUMBERS = st.floats(-1e9, 1e9)
READINGS = st.fixed_dictionaries({
    "value": NUMBERS, "unit": st.sampled_from(["kOhm", "Cel", "bar{gauge}", "°C", "k\u03a9", "m/s2"]),
    "at": st.dictionaries(NAMES, NUMBERS, max_size=2),
})
FINDINGS = st.one_of(
    st.fixed_dictionaries({"about": NAMES, "outcome": NAMES}),
    st.fixed_dictionaries(
        {"about": NAMES, "outcome": st.dictionaries(NAMES, st.integers(0, 9), min_size=1, max_size=3)}),
    st.fixed_dictionaries({"about": NAMES, "reading": READINGS}),
)
MODES = st.lists(st.from_regex(r"[a-z]{1,5}\.[a-z]{1,5}", fullmatch=True), min_size=1, max_size=3)
RECORDS = st.fixed_dictionaries({
    "external_id": st.one_of(st.none(), TEXT.filter(bool)), "equipment": st.just("toy-urn"),
    "opened": st.just("2026-03-02T08:15:00Z"), "closed": st.just("2026-03-02T09:40:00.250Z"), "problem": TEXT,
    "findings": st.lists(FINDINGS, max_size=4), "cause": st.one_of(MODES, st.just("unlisted")),
    "activities": st.lists(st.fixed_dictionaries({"remedy": NAMES}), max_size=2),
    "spare_parts": st.lists(st.fixed_dictionaries({"part": NAMES, "quantity": st.integers(1, 9)}), max_size=2),
    "active_minutes": st.one_of(st.none(), st.integers(0, 500).map(float)), "note": TEXT,
})


@settings(max_examples=60, deadline=None)
@given(st.lists(RECORDS.map(Closeout.model_validate), min_size=1, max_size=3))
def test_what_is_written_is_read_back(records: list[Closeout]) -> None:
    assert [Closeout.model_validate(body) for body in read(written(records))] == records


@pytest.mark.parametrize("text", ["=1+1", "+44 20", "-5", "@SUM(A1)", "'quoted"])
def test_no_cell_is_a_formula(text: str) -> None:
    record = Closeout(equipment="e", opened="2026-03-02T08:15:00Z", closed="2026-03-02T08:15:00Z", cause="unlisted",
                      problem=text, note=text)
    row = list(csv.reader(io.StringIO(written([record]))))[1]
    assert not [cell for cell in row if cell.startswith(("=", "+", "-", "@"))]
    assert read(written([record]))[0]["problem"] == text


def refused(text: str) -> list[str]:
    with pytest.raises(NotATable) as caught:
        read(text)
    return [item.detail for item in caught.value.items]


def test_a_head_that_does_not_fit_is_named_with_what_was_meant() -> None:
    with pytest.raises(NotATable) as caught:
        read("equipment,opened,closed,couse\n")
    assert [(i.detail, i.nearest) for i in caught.value.items] == [
        ("there is no column 'couse'", "cause"), ("the column 'cause' is missing", None)]


def test_every_misfit_cell_is_named_by_row_and_column() -> None:
    head = "equipment,opened,closed,cause,findings,spare_parts,active_minutes\n"
    good = "e,2026-03-02T08:15:00Z,2026-03-02T08:15:00Z,unlisted,,,\n"
    bad = "e,a,b,c,noise; probe=3 kOhm @ bath,part*x,long\n"
    assert refused(head + good + bad) == [
        "row 2, column findings: 'noise' is not about=outcome",
        "row 2, column spare_parts: 'part*x' is not a name, or name*number",
        "row 2, column active_minutes: 'long' is no number",
    ]


@pytest.mark.parametrize("text", ["", ",".join(COLUMNS), '"', "equipment,opened,closed,cause\na,b,c,d,e\n",
                                  "equipment,opened,closed,cause\n" + "a,b,c,d\n" * 501])
def test_no_table(text: str) -> None:
    assert refused(text)
