from __future__ import annotations

import re
from typing import Any

import pytest
from fastapi.testclient import TestClient
from jsonschema_rs import Draft202012Validator

from api.model_tools.functions import LEFT_OUT, OPERATIONS
from tests.api.conftest import COLD


@pytest.fixture
def defined(client: TestClient) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = client.get("/functions.json").json()
    return found


def test_every_function_is_an_operation_with_one_schema(defined: list[dict[str, Any]]) -> None:
    assert [d["function"]["name"] for d in defined] == list(OPERATIONS)
    for definition in defined:
        function = definition["function"]
        assert re.fullmatch(r"[a-zA-Z0-9_-]{1,64}", str(function["name"])) and function["description"]
        assert "$ref" not in str(function["parameters"])
        Draft202012Validator(function["parameters"])
        parameters = function["parameters"]
        assert isinstance(parameters, dict) and not LEFT_OUT & set(parameters["properties"])


def test_arguments_that_fit_a_definition_fit_the_operation(
    client: TestClient, defined: list[dict[str, Any]]
) -> None:
    given = {
        "matchSymptoms": {"words": "stone cold water", "equipment": "toy-urn"},
        "askNext": {"equipment": "toy-urn", "findings": [COLD], "said": "cold"},
        "advise": {"equipment": "toy-urn", "findings": [COLD], "asker": {"role": "technician"}},
        "planKit": {"equipment": "toy-urn", "findings": [COLD]},
        "openCase": {"equipment": "toy-urn", "complaint": "cold", "findings": [COLD]},
    }
    for definition in defined:
        function, request = definition["function"], definition["x-request"]
        arguments = given.get(str(function["name"]))
        if arguments is None:
            continue
        assert Draft202012Validator(function["parameters"]).is_valid(arguments)
        answer = client.request(str(request["method"]), str(request["path"]), json=arguments)
        assert answer.status_code < 300, answer.text
