"""The whole OpenAPI document against the running service, with every check on."""

from __future__ import annotations

from tempfile import TemporaryDirectory
from typing import Any

import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis import Case

from api.app import create_app
from tests.api.conftest import settings as service_settings

place = TemporaryDirectory()  # a file: the database in memory ends with each run of the app's lifespan
app = create_app(service_settings(database=f"{place.name}/contract.db"))
schema = schemathesis.openapi.from_asgi("/openapi.json", app)
SLOW = [HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large]


@schema.parametrize()
@settings(max_examples=25, deadline=None, suppress_health_check=SLOW)
def test_every_operation_keeps_to_the_document(case: Case[Any]) -> None:
    case.call_and_validate()


TestCalls = schema.as_state_machine().TestCase
TestCalls.settings = settings(max_examples=15, stateful_step_count=8, deadline=None, suppress_health_check=SLOW)
