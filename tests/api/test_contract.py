"""The whole OpenAPI document against the running service, with every check on, keys included.

`HALFSPLIT_CONTRACT=long` (`make contract`) works through every boundary of every schema besides, and sends at least
`tests.api.conftest.LONG_CALLS` calls, which takes half an hour.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from tempfile import TemporaryDirectory
from typing import Any

import orjson
import pytest
import schemathesis
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, given, settings
from schemathesis import Case, Response
from schemathesis.specs.openapi.checks import positive_data_acceptance

from api.access import make_key
from api.app import create_app
from api.clock import utc_now
from api.example_graph import TEXT
from schemas.source import parse
from tests.api.conftest import GENERATED
from tests.api.conftest import settings as service_settings
from tests.mutated import mutated

LONG = os.environ.get("HALFSPLIT_CONTRACT") == "long"
place = TemporaryDirectory()  # a file: the database in memory ends with each run of the app's lifespan
app = create_app(service_settings(database=f"{place.name}/contract.db", open=False, quota=1_000_000))
KEY = {"Authorization": "Bearer " + make_key(app.state.service.database, utc_now).text}
SLOW = [HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large]
URN: dict[str, Any] = app.state.service.registry.families["toy-urn"].canonical.data()


def written() -> dict[str, Any]:
    """The OpenAPI document, with graph documents to choose from instead of the schema of every graph.

    Graphs made up from that schema would take most of the time and be refused; graphs with something wrong in them
    are made from a sound one below.
    """
    document: dict[str, Any] = orjson.loads(orjson.dumps(app.openapi()))
    document["components"]["schemas"]["Document"] = {"enum": [URN, parse(TEXT).data]}
    return document


schema = schemathesis.openapi.from_dict(written())
schema.app = app
schema.config.phases.coverage.enabled = LONG
checks = schema.config.checks
# What a schema can't say and an answer may turn on: what is stored (404, 409), and its version (412, 428).
checks.positive_data_acceptance.expected_statuses = ["2xx", "304", "404", "409", "412", "428"]
checks.negative_data_rejection.expected_statuses = ["400", "401", "404", "405", "409", "412", "415", "422", "428"]
checks.missing_required_header.expected_statuses = ["404", "409", "422", "428"]


def excluded(response: Response) -> list[Any]:
    """A schema can't say which key came with another request before: that alone is refused with 422 all the same."""
    return [positive_data_acceptance] if b"/problems/key-reused" in response.content else []


calls = 0


@pytest.fixture(autouse=True)
def counted(request: pytest.FixtureRequest) -> Iterator[None]:
    """How many calls a test sent, for the summary."""
    before = calls
    yield
    request.node.user_properties.append((GENERATED, calls - before))


def checked(response: Response, case: Case[Any]) -> None:
    """Every check on the answer to one call."""
    global calls
    calls += 1
    case.validate_response(response, headers=KEY, excluded_checks=excluded(response))


@schema.parametrize()
@settings(max_examples=240 if LONG else 22, deadline=None, suppress_health_check=SLOW)
def test_every_operation_keeps_to_the_document(case: Case[Any]) -> None:
    checked(case.call(headers=KEY), case)


class Calls(schema.as_state_machine()):  # type: ignore[misc]
    """Calls that follow from each other."""

    def get_call_kwargs(self, case: Case[Any]) -> dict[str, Any]:
        """Send the key along."""
        return {"headers": KEY}

    def validate_response(self, response: Response, case: Case[Any], **more: Any) -> None:
        """Check an answer."""
        checked(response, case)


TestCalls = Calls.TestCase
TestCalls.settings = settings(
    max_examples=600 if LONG else 6, stateful_step_count=8, deadline=None, suppress_health_check=SLOW
)


def sent(client: TestClient, path: str, body: Any, **headers: str) -> Any:
    """The answer to one call with a graph in it: sound, or a problem that says where."""
    global calls
    calls += 1
    response = client.post(path, json=body, headers={**KEY, **headers})
    assert response.status_code < 500, response.text
    found = response.json()
    if response.status_code >= 400:
        assert found["type"] == "/problems/equipment-mismatch" or found["errors"], found
        assert all(e["detail"] for e in found["errors"])
    return response


@settings(max_examples=1000 if LONG else 20, deadline=None, suppress_health_check=SLOW)
@given(mutated(URN))
def test_a_graph_with_something_wrong_is_told_or_used(document: dict[str, Any]) -> None:
    client = TestClient(app)
    check = sent(client, "/v1/graph-checks", document)
    assert check.status_code == 200
    found = check.json()
    assert found["usable"] is not bool(found["defects"])
    advice = sent(client, "/v1/advice", {"document": document, "budget_ms": 0})
    assert (advice.status_code == 200) is found["usable"], (advice.text, found)
    tried = sent(client, "/v1/equipment/mutated/revisions?dry_run=true", document, **{"if-none-match": "*"})
    assert tried.status_code < 300 if found["usable"] and document["equipment"]["id"] == "mutated" \
        else tried.status_code >= 400
