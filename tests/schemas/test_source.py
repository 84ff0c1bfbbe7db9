"""The text of a document: words stay words, and nothing hostile gets past the reader."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from graph.errors import Defect, DocumentError
from schemas.load import load_data, load_text
from schemas.source import MOST_BYTES, MOST_DEFECTS, MOST_DEPTH, parse
from tests.effort import calls_made
from tests.machines import large_machine, small_machine


def refusal(text: str | bytes) -> list[Defect]:
    with pytest.raises(DocumentError) as refused:
        parse(text)
    return list(refused.value.defects)


@pytest.mark.parametrize(
    "word", ["on", "off", "yes", "no", "y", "n", "On", "NO", "12:30", "2026-11-25", "1_000", "0x1F"]
)
def test_words_stay_words(word: str) -> None:
    assert parse(f"{word}: {word}").data == {word: word}


@pytest.mark.parametrize(
    ("written", "value"),
    [("3", 3), ("-7", -7), ("2.5", 2.5), (".5", 0.5), ("1e3", 1000.0), ("true", True), ("null", None), ("~", None),
     ("", None), ("'3'", "3"), ('"true"', "true"), ("007", 7), ("9" * 30, float("9" * 30))],
)
def test_core_scalars(written: str, value: Any) -> None:
    found = parse(f"key: {written}").data["key"]
    assert found == value
    assert type(found) is type(value)


def test_keys_are_always_text() -> None:
    assert parse("{1: a, true: b, null: c}").data == {"1": "a", "true": "b", "null": "c"}


def test_block_and_folded_text() -> None:
    assert parse("a: |\n  one\n  two\nb: >\n  one\n  two\n").data == {"a": "one\ntwo\n", "b": "one two\n"}


@pytest.mark.parametrize(
    ("text", "code", "line"),
    [
        ("", "empty", 1),
        ("# nothing but a remark\n", "empty", 1),
        ("a: 1\nb: *a\n", "alias-not-allowed", 2),
        ("a: &x [1]\n*x : 2\n", "alias-not-allowed", 2),
        ("a: !!python/object/apply:os.system [ls]\n", "tag-not-allowed", 1),
        ("a: !!set {b}\n", "tag-not-allowed", 1),
        ("a: ! 3\n", "tag-not-allowed", 1),
        ('a: !!binary "aGk="\n', "tag-not-allowed", 1),
        ("a: 1\na: 2\n", "duplicate-key", 2),
        ("a: {b: 1,\n b: 2}\n", "duplicate-key", 2),
        ('{"a": 1,\n "a": 2}', "duplicate-key", 2),
        ("a:\n  - .nan\n", "not-a-number", 2),
        ("a: -.inf\n", "not-a-number", 1),
        ("a: 1e999\n", "not-a-number", 1),
        ('{"a": 1,\n"b": -Infinity}', "not-a-number", 2),
        ("a: 1\n\tb: 2\n", "not-parsable", 2),
        ("a: [1, 2\nb: 3\n", "not-parsable", 2),
        ("a: 1\n---\nb: 2\n", "not-parsable", 2),
        ("a: 1\nb: \x07\n", "not-parsable", 2),
        ("[1, 2]: 3\n", "key-not-a-name", 1),
        (b"a: 1\nb: \xff\xfe\n", "not-utf8", 2),
        ("a: 1\n".encode("utf-16"), "not-utf8", 1),
        ("a: 1\nb: \ud800\n", "not-utf8", 2),
        ('{"a": 1,\n "b": "\\ud800"}', "not-utf8", 2),
        ('{"a":\n {"\\udfff": 1}}', "not-utf8", 2),
    ],
)
def test_refused_text(text: str | bytes, code: str, line: int) -> None:
    defects = refusal(text)
    assert (defects[0].code, defects[0].line) == (code, line)


@pytest.mark.parametrize("top", ["- 1\n- 2\n", "[1, 2]", "3", "null", '"words"'])
def test_a_document_is_a_map(top: str) -> None:
    with pytest.raises(DocumentError) as refused:
        load_text(top)
    (defect,) = refused.value.defects
    assert (defect.code, defect.pointer, defect.line, defect.expected) == ("wrong-type", "", 1, "a map")


def test_a_byte_order_mark_is_no_part_of_the_text() -> None:
    assert parse("\ufeffa: 1".encode()).data == parse("\ufeffa: 1").data == {"a": 1}


@pytest.mark.parametrize(
    "text",
    ["[" * 10_000, "{a: " * 10_000, '{"a":' * 10_000, "[" * 10_000 + "]" * 10_000, "- " * 10_000 + "x",
     "\n".join(" " * i + "a:" for i in range(2_000)), "? " * 10_000, "a: " + "[{b: " * 5_000],
    ids=["brackets", "braces", "json", "closed", "dashes", "indented", "question marks", "mixed"],
)
def test_deep_nesting_is_refused_at_once(text: str) -> None:
    codes: set[str] = set()
    effort = calls_made(lambda: codes.update(d.code for d in refusal(text)))
    assert codes <= {"too-deep", "not-parsable", "key-not-a-name"}
    assert effort < 5_000


@pytest.mark.parametrize("brackets", ["[]", "{}"])
def test_depth_is_counted_exactly(brackets: str) -> None:
    opening, closing = ("[", "]") if brackets == "[]" else ('{"a":', "}")
    fits = opening * MOST_DEPTH + "1" + closing * MOST_DEPTH
    assert parse(fits).data
    assert refusal(opening + fits + closing)[0].code == "too-deep"


def test_an_alias_bomb_costs_nothing() -> None:
    levels = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    levels += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 30)]
    defects: list[Defect] = []
    effort = calls_made(lambda: defects.extend(refusal("\n".join(levels))))
    assert {d.code for d in defects} == {"alias-not-allowed"}
    assert len(defects) <= MOST_DEFECTS
    assert effort < 10_000


@pytest.mark.parametrize("text", ["x" * (MOST_BYTES + 1), b"x" * (MOST_BYTES + 1), "[" + "1," * 500_000 + "1]"])
def test_too_large(text: str | bytes) -> None:
    assert refusal(text)[0].code == "too-large"


def test_defects_are_told_up_to_a_limit() -> None:
    assert len(refusal("\n".join("a: 1" for _ in range(5_000)))) == MOST_DEFECTS
    with pytest.raises(DocumentError) as refused:
        load_data({"format": 1, "components": {f"Bad-{i}": None for i in range(5_000)}})
    assert len(refused.value.defects) == MOST_DEFECTS


# --- JSON ------------------------------------------------------------------------------------

plain_text = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
plain_data = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**17), 10**17) | st.floats(allow_nan=False, allow_infinity=False)
    | plain_text,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(plain_text, inner, max_size=4),
    max_leaves=12,
)


@given(
    data=st.dictionaries(plain_text, plain_data, max_size=4) | st.lists(plain_data, max_size=4),
    ascii_only=st.booleans(), indent=st.sampled_from([None, 1, "\t"]), slashes=st.booleans(),
)
def test_all_json_is_read_as_json(data: Any, ascii_only: bool, indent: int | str | None, slashes: bool) -> None:
    text = json.dumps(data, ensure_ascii=ascii_only, indent=indent)
    if slashes:
        text = text.replace("/", "\\/")
    assert parse(text).data == data


def test_json_keeps_its_lines() -> None:
    found = parse('{\n\t"a": [1,\n\t\t{"b": "two\\nlines"}],\n\r\n"\\u0063": "\\ud83c\\udf75"\n}')
    assert found.data == {"a": [1, {"b": "two\nlines"}], "c": "🍵"}
    places: list[tuple[str | int, ...]] = [(), ("a",), ("a", 0), ("a", 1), ("a", 1, "b"), ("c",)]
    assert [found.lines[p] for p in places] == [1, 2, 2, 3, 3, 5]


def test_flow_maps_that_are_not_json_are_yaml() -> None:
    assert parse("{a: [x, 'y'], b: on}").data == {"a": ["x", "y"], "b": "on"}


@given(text=st.text(max_size=60) | st.text("{}[]:,-\"'&*!|>#%@?\n\t ab1.", max_size=60) | st.binary(max_size=60))
def test_any_text_is_read_or_refused(text: str | bytes) -> None:
    try:
        parse(text)
    except DocumentError as error:
        assert all(d.code and d.found and d.expected for d in error.defects)  # noqa: PT017


@pytest.mark.parametrize("seed", range(20))
def test_yaml_and_json_of_one_document_mean_the_same(seed: int) -> None:
    document = small_machine(seed)
    assert parse(yaml.safe_dump(document, sort_keys=False)).data == document
    assert parse(json.dumps(document)).data == document


@pytest.mark.parametrize("write", [yaml.safe_dump, json.dumps])
def test_ten_times_the_text_takes_ten_times_the_reading(write: Callable[[Any], str]) -> None:
    small, large = write(large_machine(1, 100, 1)), write(large_machine(1, 1_000, 1))
    assert calls_made(lambda: load_text(large)) < 12 * calls_made(lambda: load_text(small))


def test_many_names_are_checked_in_linear_time() -> None:
    small, large = large_machine(1, 300, 1), large_machine(1, 3_000, 1)
    assert calls_made(lambda: load_data(large)) < 12 * calls_made(lambda: load_data(small))
