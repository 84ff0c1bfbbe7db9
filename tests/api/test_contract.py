"""The whole OpenAPI document against the running service, with every check on, keys included.

`HALFSPLIT_CONTRACT=long` (`make contract`) works through every boundary of every schema besides, which takes an hour.
"""

from __future__ import annotations

import os
from tempfile import TemporaryDirectory
from typing import Any

import orjson
import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis import Case, Response
from schemathesis.specs.openapi.checks import (
    missing_required_header,
    negative_data_rejection,
    positive_data_acceptance,
)

from api.access import make_key
from api.app import create_app
from api.clock import utc_now
from api.example_graph import TEXT
from schemas.source import parse
from tests.api.conftest import settings as service_settings

LONG = os.environ.get("HALFSPLIT_CONTRACT") == "long"
place = TemporaryDirectory()  # a file: the database in memory ends with each run of the app's lifespan
app = create_app(service_settings(database=f"{place.name}/contract.db", open=False, quota=1_000_000))
KEY = {"Authorization": "Bearer " + make_key(app.state.service.database, utc_now).text}
SLOW = [HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large]
BY_STATE = [positive_data_acceptance, negative_data_rejection, missing_required_header]
"""Checks that take the schema alone for what is refused, or know no 428 (RFC 6585)."""


def written() -> dict[str, Any]:
    """The OpenAPI document, with graph documents to choose from instead of the schema of every graph.

    Graphs made up from that schema would take most of the time and be refused; what is refused in a graph has tests
    of its own.
    """
    document: dict[str, Any] = orjson.loads(orjson.dumps(app.openapi()))
    shared = app.state.service.registry.families["toy-urn"].canonical.data()
    document["components"]["schemas"]["Document"] = {"enum": [shared, parse(TEXT).data]}
    return document


schema = schemathesis.openapi.from_dict(written())
schema.app = app
schema.config.phases.coverage.enabled = LONG


def excluded(response: Response) -> list[Any]:
    """No such check where something stored decides: a version that is named, a key that was used."""
    refused = response.status_code in (412, 428) or b"/problems/key-reused" in response.content
    return BY_STATE if refused else []


def answered(case: Case[Any]) -> None:
    """One call and every check on its answer."""
    response = case.call(headers=KEY)
    case.validate_response(response, headers=KEY, excluded_checks=excluded(response))


@schema.parametrize()
@settings(max_examples=400 if LONG else 22, deadline=None, suppress_health_check=SLOW)
def test_every_operation_keeps_to_the_document(case: Case[Any]) -> None:
    answered(case)


class Calls(schema.as_state_machine()):  # type: ignore[misc]
    """Calls that follow from each other."""

    def get_call_kwargs(self, case: Case[Any]) -> dict[str, Any]:
        """Send the key along."""
        return {"headers": KEY}

    def validate_response(self, response: Response, case: Case[Any], **more: Any) -> None:
        """Check an answer."""
        case.validate_response(response, headers=KEY, excluded_checks=excluded(response))


TestCalls = Calls.TestCase
TestCalls.settings = settings(
    max_examples=400 if LONG else 6, stateful_step_count=8, deadline=None, suppress_health_check=SLOW
)
