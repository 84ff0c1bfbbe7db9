"""Broken documents, and what their authors are told: code, line, place, what would do, nearest name."""

from __future__ import annotations

from pathlib import Path

import pytest

from graph.errors import DocumentError
from schemas.load import load_data, load_text
from schemas.source import parse

BROKEN = Path(__file__).parent / "broken"
EXPECTED: dict[str, list[tuple[str, int, str, str, str | None]]] = {
    "aliases_tags_numbers.yaml": [
        ("alias-not-allowed", 8, "/components/element/failure_modes/scaled/title", "the value written out", None),
        ("not-a-number", 18, "/remedies/replace/minutes", "a finite number", None),
        ("tag-not-allowed", 19, "/remedies/descale/minutes", "a plain value", None),
    ],
    "duplicate_keys.yaml": [
        ("duplicate-key", 20, "/remedies/replace", "it once (first at line 18)", None),
        ("duplicate-key", 21, "/format", "it once (first at line 1)", None),
    ],
    "half_characters.json": [
        ("not-utf8", 3, "/equipment/title", "whole characters", None),
        ("not-utf8", 4, "/components", "whole characters", None),
        ("not-a-number", 4, "/components/?", "a finite number", None),
        ("not-a-number", 5, "/remedies/replace/minutes", "a finite number", None),
    ],
    "missing_fields.json": [
        ("missing", 3, "/equipment/category", "the field 'category'", None),
        (
            "missing", 7, "/components/element/failure_modes/burnt/calls_per_thousand",
            "the field 'calls_per_thousand'", None,
        ),
        ("missing", 10, "/remedies/replace/minutes", "the field 'minutes'", None),
    ],
    "misspelt_fields.yaml": [
        ("missing", 2, "/equipment/category", "the field 'category'", None),
        ("unknown-field", 2, "/equipment/kategory", "one of: category, cautions, currency,", "category"),
        (
            "missing", 7, "/components/element/failure_modes/burnt/calls_per_thousand",
            "the field 'calls_per_thousand'", None,
        ),
        (
            "unknown-field", 7, "/components/element/failure_modes/burnt/calls_per_thousend",
            "one of: calls_per_thousand, note, only_if,", "calls_per_thousand",
        ),
        ("missing", 18, "/remedies/replace/minutes", "the field 'minutes'", None),
        ("unknown-field", 18, "/remedies/replace/minuts", "one of: caller, disturbs, hazards, how,", "minutes"),
    ],
    "no_default.yaml": [
        ("empty-when", 16, "/signals/heat/rules/2/when", "something to match, or no `when`", None),
        ("no-default", 16, "/signals/heat/rules/2", "a last rule with only `state`, for all", None),
    ],
    "reserved_names.yaml": [
        ("name-twice", 21, "/conditions/heat", "a name of its own", None),
        ("name-twice", 18, "/remedies/replace", "a name of its own", None),
        (
            "reserved-name", 8, "/components/element/failure_modes/sound",
            "another name: it is a component without fault", None,
        ),
        (
            "reserved-name", 27, "/tests/replace/outcomes/skipped",
            "another name: it says that nothing was found", None,
        ),
        ("unknown-name", 29, "/parts/lid/alternatives/0", "a part: lid", "lid"),
    ],
    "rule_after_default.yaml": [
        ("rule-never-reached", 16, "/signals/heat/rules/2", "the rule without `when` last", None),
    ],
    "signal_loop.yaml": [
        ("signal-loop", 13, "/signals/heat/rules", "signals that depend on one another in one", None),
        ("signal-loop", 27, "/signals/echo/rules", "signals that depend on one another in one", None),
    ],
    "states.yaml": [
        ("state-not-covered", 25, "/tests/uncovered/outcomes", "every state of heat in an outcome, or", None),
        ("state-twice", 30, "/tests/twice/outcomes/tepid/states/0", "one outcome a state", None),
        ("state-twice", 35, "/tests/two_rests/outcomes/cold", "one outcome a state", None),
    ],
    "successors.yaml": [
        ("part-loop", 14, "/parts/old/superseded_by", "a part that is supplied now", None),
        ("part-loop", 15, "/parts/new/superseded_by", "a part that is supplied now", None),
        ("unknown-name", 16, "/parts/seal/superseded_by", "", "new"),
    ],
    "sums.yaml": [
        ("shares-sum", 2, "/equipment", "less than 100", None),
        ("shares-sum", 21, "/conditions/hardness/states", "100", None),
        ("chances-sum", 28, "/tests/feel/chances/weak", "100", None),
    ],
    "units_and_remedies.yaml": [
        ("state-twice", 23, "/unit_states/power/states/2", "each state once", None),
        ("unknown-name", 23, "/unit_states/power/usual", "a state: on, off, on", "off"),
        ("unknown-name", 23, "/unit_states/power/minutes/of", "a state: on, off, on", "off"),
        ("never-used", 20, "/remedies/paint", "its name in `remedies` of the failure modes", None),
    ],
    "unknown_names.yaml": [
        (
            "unknown-name", 7, "/components/element/failure_modes/burnt/remedies/0",
            "a remedy: replace, descale", "replace",
        ),
        (
            "unknown-name", 15, "/signals/heat/rules/1/when/any_fault/0",
            "a failure mode: element.burnt, element.scaled", "element.scaled",
        ),
        ("unknown-name", 16, "/signals/heat/rules/2/state", "a state: full, weak, none", "full"),
        ("unknown-name", 23, "/tests/feel/reveals", "a signal, condition or component: heat,", "heat"),
        ("unknown-name", 25, "/tests/feel/instruments/0", "an instrument, and there are none", None),
        ("unknown-name", 31, "/tests/look/outcomes/white/0", "a state of element: burnt, scaled, sound", "scaled"),
        ("never-used", 18, "/remedies/replace", "its name in `remedies` of the failure modes", None),
    ],
    "wrong_types.yaml": [
        ("unknown-value", 1, "/format", "1", None),
        ("bad-name", 4, "/components/Heating-Element", "a name like level_switch (lower case,", None),
        (
            "out-of-range", 8, "/components/Heating-Element/failure_modes/scaled/calls_per_thousand",
            "more than 0", None,
        ),
        ("out-of-range", 8, "/components/Heating-Element/failure_modes/scaled/remedies", "at least 1 of them", None),
        ("wrong-type", 11, "/signals/heat/title", "text, in quotes", None),
        ("wrong-type", 12, "/signals/heat/states", "a list", None),
        ("wrong-type", 18, "/remedies/replace/minutes", "a number", None),
        ("unknown-value", 19, "/remedies/descale/role", "site_contact or technician", "technician"),
    ],
}


def test_every_broken_document_is_in_the_table() -> None:
    assert sorted(p.name for p in BROKEN.iterdir()) == sorted(EXPECTED)


@pytest.mark.parametrize("name", EXPECTED)
def test_all_defects_are_told_together(name: str) -> None:
    with pytest.raises(DocumentError) as refused:
        load_text((BROKEN / name).read_bytes(), name)
    found = [(d.code, d.line, d.pointer, d.nearest) for d in refused.value.defects]
    assert found == [(code, line, pointer, nearest) for code, line, pointer, _, nearest in EXPECTED[name]]
    for defect, (_, _, _, fragment, _) in zip(refused.value.defects, EXPECTED[name], strict=True):
        assert fragment in defect.expected
        assert defect.source == name


@pytest.mark.parametrize("name", [n for n in EXPECTED if n.endswith(".yaml")])
def test_data_has_the_same_defects_as_text(name: str) -> None:
    try:
        data = parse((BROKEN / name).read_bytes()).data
    except DocumentError:
        return  # the text itself was refused: there is no data
    with pytest.raises(DocumentError) as refused:
        load_data(data)
    assert [d.pointer for d in refused.value.defects] == [pointer for _, _, pointer, _, _ in EXPECTED[name]]


def test_a_defect_reads_as_one_line() -> None:
    with pytest.raises(DocumentError) as refused:
        load_text((BROKEN / "unknown_names.yaml").read_bytes(), "urn.yaml")
    assert refused.value.defects[3].sentence() == (
        "urn.yaml:23: /tests/feel/reveals: unknown-name: found 'heet', "
        "expected a signal, condition or component: heat, element; did you mean 'heat'?"
    )
