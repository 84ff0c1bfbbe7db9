"""The JSON Schema of a graph document: valid, and it accepts what the loader accepts."""

from __future__ import annotations

from typing import Any

import pytest
from jsonschema_rs import Draft202012Validator, meta

from schemas.document import Document
from schemas.load import load_data
from schemas.source import parse
from tests.graph.drawn import WRITTEN
from tests.machines import large_machine, small_machine
from tests.schemas.test_broken_documents import BROKEN


@pytest.fixture(scope="module")
def validator() -> Draft202012Validator:
    schema = Document.model_json_schema()
    meta.validate({"$schema": "https://json-schema.org/draft/2020-12/schema", **schema})
    return Draft202012Validator(schema)


def complaints(validator: Draft202012Validator, data: Any) -> list[str]:
    return [f"{error.instance_path}: {error.message}" for error in validator.iter_errors(data)]


@pytest.mark.parametrize("name", WRITTEN)
def test_written_machines_conform(validator: Draft202012Validator, name: str) -> None:
    assert complaints(validator, parse(WRITTEN[name].read_bytes()).data) == []


@pytest.mark.parametrize("seed", range(30))
def test_random_machines_conform(validator: Draft202012Validator, seed: int) -> None:
    document = small_machine(seed)
    assert complaints(validator, document) == []
    assert load_data(document).id == "random-machine"


def test_a_large_machine_conforms(validator: Draft202012Validator) -> None:
    assert complaints(validator, large_machine(1, 100, 2)) == []


@pytest.mark.parametrize("name", ["misspelt_fields.yaml", "wrong_types.yaml", "missing_fields.json"])
def test_what_has_the_wrong_shape_does_not_conform(validator: Draft202012Validator, name: str) -> None:
    assert complaints(validator, parse((BROKEN / name).read_bytes()).data)
