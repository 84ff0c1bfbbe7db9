"""Graphs and tables sent as text."""

from __future__ import annotations

import pytest

from schemas.problems import MOST_ITEMS
from tests.api.hostile.taking import BRACKETS, TAKEN, Service, Taken, problem


@pytest.mark.parametrize("body", [t for t in TAKEN if t.operation.name == "checkGraph"], ids=lambda t: t.media_type)
@pytest.mark.parametrize(("content", "code"), [
    (b"a0: &a0 [x, x]\n" + b"".join(b"a%d: &a%d [%s]\n" % (i, i, b", ".join([b"*a%d" % (i - 1)] * 9))
                                    for i in range(1, 30)), "alias-not-allowed"),
    (b"a: &a\n  <<: *a\n", "alias-not-allowed"),
    (b"[" * BRACKETS, "too-deep"), (b'{"a":' * BRACKETS, "too-deep"), (b"- " * BRACKETS + b"x", "too-deep"),
    (b"a: 1\na: 2\n", "duplicate-key"), (b'{"a": 1, "a": 2}', "duplicate-key"),
    (b'{"format": NaN}', "not-a-number"), (b"format: .nan\n", "not-a-number"), (b"format: -.inf\n", "not-a-number"),
    (b"format: 9223372036854775808\n", "unknown-value"), (b"format: " + b"9" * 400 + b"\n", "not-a-number"),
    (b'format: "\\ud800"\n', "not-parsable"), (b'{"format": "\\ud800"}', "not-utf8"), (b"format: \xff\n", "not-utf8"),
    (b"format: \x00\n", "not-parsable"), (b'format: 1\nequipment: {id: a, title: "\\0"}\n', "bad-name"),
    (b'format: 1\nequipment: {id: a, title: "\xe2\x80\xae"}\n', "bad-name"),
    (b"format: !!python/object/apply:os.system [ls]\n", "tag-not-allowed"), (b"a: 1\n---\nb: 2\n", "not-parsable"),
    (b"", "empty"), (b"- 1\n", "wrong-type"), (b"a" * 1_500_000, "wrong-type"),
])
def test_a_graph_check_says_what_is_wrong(service: Service, body: Taken, content: bytes, code: str) -> None:
    response = service.send(body, content)
    if body.media_type == "application/json" and response.status_code == 400:
        problem(response, "not-json")
        return
    found = response.json()
    assert (response.status_code, found["usable"]) == (200, False)
    assert code in {d["code"] for d in found["defects"]}
    assert all(d["sentence"] and d["line"] for d in found["defects"])
    assert len(found["defects"]) <= MOST_ITEMS


@pytest.mark.parametrize("cell", ["\x00", "a\x00b", "\u202e", "a\u2066b", "x" * 3000, "x" * 200_000])
def test_every_cell_of_a_table(either: Service, cell: str) -> None:
    (body,) = (t for t in TAKEN if t.media_type == "text/csv")
    head, row = body.example.split("\r\n")[:2]
    cells = row.split(",")
    assert len(head.split(",")) == len(cells)
    for n in range(len(cells)):
        table = f"{head}\r\n{','.join([*cells[:n], cell, *cells[n + 1:]])}\r\n"
        assert problem(either.send(body, table.encode()), "not-a-table")["errors"]


@pytest.mark.parametrize(("column", "cell"), [
    ("age_years", "nan"), ("age_years", "-inf"), ("age_years", "1e999"), ("age_years", "9" * 400),
    ("active_minutes", "NaN"), ("active_minutes", "9223372036854775808"), ("active_minutes", "Infinity"),
    ("findings", "boils=1e999 A"), ("findings", "boils=present*9223372036854775808"), ("spare_parts", "a*99999999999"),
    ("findings", "boils=" + "[" * 10_000), ("opened", "9999-99-99T00:00:00Z"), ("opened", "2026-02-31T00:00:00Z"),
    ("opened", "٢٠٢٦-03-02T08:15:00Z"),
])
def test_a_cell_that_is_no_number_or_time(service: Service, column: str, cell: str) -> None:
    (body,) = (t for t in TAKEN if t.media_type == "text/csv")
    head, row = body.example.split("\r\n")[:2]
    cells = row.split(",")
    cells[head.split(",").index(column)] = cell
    found = problem(service.send(body, f"{head}\r\n{','.join(cells)}\r\n".encode()), "not-a-table")
    assert all(error["pointer"].startswith("/closeouts/0") for error in found["errors"])


@pytest.mark.parametrize("content", [
    b"", b"\x00", b"\xff\xfe", b"\n" * 10_000, b"{}", b'"' * 9_999, b"case\r\n", b"\xe2\x80\xae,\x00\r\n1,2\r\n",
    b"equipment,opened,closed,cause\r\n" * 600, b"equipment," * 100_000, b"a,a,a\r\n",
])
def test_what_is_no_table(service: Service, content: bytes) -> None:
    (body,) = (t for t in TAKEN if t.media_type == "text/csv")
    problem(service.send(body, content), "not-a-table")
