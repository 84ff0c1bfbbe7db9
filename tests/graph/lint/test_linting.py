"""Acceptances, order, and the documents that are shipped."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from graph.compile import compile_model
from graph.lint.linting import Linted, lint
from schemas.load import load_data, load_text
from tests.graph.lint.test_rules import urn
from tests.machines import large_machine, small_machine

SHIPPED = sorted((Path(__file__).parents[3] / "fixtures" / "equipment").glob("*.yaml"))


def linted(data: Any) -> Linted:
    return lint(compile_model(load_data(data)))


def accepting(code: str, where: str) -> str:
    return f"""
remedies: {{descale: {{verify: null}}, replace_washer: {{verify: null}}}}
accepted: [{{code: {code}, where: {where}, reason: Said by somebody who should know.}}]
"""


@pytest.mark.parametrize("path", SHIPPED, ids=[p.stem for p in SHIPPED])
def test_a_shipped_document_is_clean_and_says_what_it_accepts(path: Path) -> None:
    found = lint(compile_model(load_text(path.read_bytes(), path.name)))
    assert [d.sentence() for d in found.remarks] == []
    for defect, acceptance in found.accepted:
        assert defect.code == acceptance.code
        assert len(acceptance.reason.split()) > 4


def test_an_acceptance_silences_its_own_place_alone() -> None:
    found = linted(urn(accepting("remedy-unverified", "/remedies/descale")))
    assert [(d.code, d.pointer) for d in found.remarks] == [("remedy-unverified", "/remedies/replace_washer")]
    (defect, acceptance), = found.accepted
    assert (defect.pointer, acceptance.where) == ("/remedies/descale", "/remedies/descale")


def test_an_acceptance_silences_what_lies_below_its_place() -> None:
    found = linted(urn(accepting("remedy-unverified", "/remedies")))
    assert found.remarks == ()
    assert len(found.accepted) == 2


def test_a_name_that_begins_alike_is_another_place() -> None:
    found = linted(urn(accepting("remedy-unverified", "/remedies/descal")))
    assert {d.code for d in found.remarks} == {"remedy-unverified", "acceptance-unused"}


def test_an_acceptance_of_no_rule_names_the_nearest() -> None:
    found = linted(urn(accepting("remedy-unverifed", "/remedies/descale")))
    unused = found.remarks[-1]
    assert (unused.code, unused.pointer) == ("acceptance-unused", "/accepted/0/code")
    assert unused.expected.startswith("'remedy-unverified'")


@pytest.mark.parametrize("seed", range(12))
def test_any_machine_can_be_linted_and_twice_the_same(seed: int) -> None:
    data = small_machine(seed)
    assert linted(data) == linted(data)


def test_a_large_machine_is_linted_whole() -> None:
    found = linted(large_machine(1, 150, 2))
    assert {d.code for d in found.remarks} >= {"remedy-unverified", "symptom-without-phrases"}
