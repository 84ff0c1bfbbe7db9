"""The whole OpenAPI document against the running service, with every check on, keys included."""

from __future__ import annotations

from tempfile import TemporaryDirectory
from typing import Any

import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis import Case

from api.access import make_key
from api.app import create_app
from api.clock import utc_now
from tests.api.conftest import settings as service_settings

place = TemporaryDirectory()  # a file: the database in memory ends with each run of the app's lifespan
app = create_app(service_settings(database=f"{place.name}/contract.db", open=False, quota=1_000_000))
KEY = {"Authorization": "Bearer " + make_key(app.state.service.database, utc_now).text}
schema = schemathesis.openapi.from_asgi("/openapi.json", app)
SLOW = [HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large]


@schema.parametrize()
@settings(max_examples=12, deadline=None, suppress_health_check=SLOW)
def test_every_operation_keeps_to_the_document(case: Case[Any]) -> None:
    case.call_and_validate(headers=KEY)


class Calls(schema.as_state_machine()):  # type: ignore[misc]
    """Calls that follow from each other."""

    def get_call_kwargs(self, case: Case[Any]) -> dict[str, Any]:
        """Send the key along."""
        return {"headers": KEY}


TestCalls = Calls.TestCase
TestCalls.settings = settings(max_examples=10, stateful_step_count=8, deadline=None, suppress_health_check=SLOW)
