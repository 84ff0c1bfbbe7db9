from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from api.access import make_key
from api.app import create_app
from api.clock import utc_now
from api.database import Database, open_database, upgrade
from api.settings import Settings
from tests import postgresql

EQUIPMENT = Path(__file__).parent / "equipment"
COLD = {"about": "water_cold", "outcome": "present"}

Open = Callable[..., TestClient]
GENERATED = "generated calls"
"""The property of a test's report that says how many calls were made up and sent."""
LONG_CALLS = 20_000
"""The least that the long form of the contract sends."""


def generated(reporter: pytest.TerminalReporter) -> int:
    """How many calls were made up and sent by all tests."""
    reports = [r for found in reporter.stats.values() for r in found if getattr(r, "when", None) == "teardown"]
    return sum(number for r in reports for name, number in r.user_properties if name == GENERATED)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    number, stats = generated(terminalreporter), terminalreporter.stats
    if number:
        failures = len(stats.get("failed", ())) + len(stats.get("error", ()))
        terminalreporter.write_line(f"contract: {number:,} generated calls, {failures} failures")


def pytest_sessionfinish(session: pytest.Session) -> None:
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if reporter is None or os.environ.get("HALFSPLIT_CONTRACT") != "long" or reporter.stats.get("deselected"):
        return  # a worker, which reports to another; or a part
    if 0 < generated(reporter) < LONG_CALLS:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def settings(**changed: Any) -> Settings:
    return Settings(**{
        "database": ":memory:", "equipment": (EQUIPMENT,), "packaged": False, "open": True, **changed,
    })


def authorized(client: TestClient, *scopes: str, tenant: str = "default") -> dict[str, str]:
    """The header of a new key of the client's service."""
    database = client.app.state.service.database  # type: ignore[attr-defined]
    return {"authorization": "Bearer " + make_key(database, utc_now, tenant, scopes or ("admin",)).text}


@pytest.fixture(scope="session")
def postgresql_socket() -> Iterator[str]:
    with postgresql.server() as socket:
        yield socket


@pytest.fixture(params=["sqlite", "postgresql"])
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """A new database of each kind."""
    if request.param == "sqlite":
        yield str(tmp_path / "new" / "cases.db")
    else:
        with postgresql.new_database(request.getfixturevalue("postgresql_socket")) as url:
            yield url


@pytest.fixture
def database(database_url: str) -> Iterator[Database]:
    """A new database of each kind, with its tables."""
    opened = open_database(database_url)
    upgrade(opened)
    yield opened
    opened.close()


@pytest.fixture
def opened() -> Iterator[Open]:
    """Open services that are closed again after the test."""
    clients: list[TestClient] = []

    def start(**changed: Any) -> TestClient:
        client = TestClient(create_app(settings(**changed)), raise_server_exceptions=False)
        client.__enter__()
        clients.append(client)
        return client

    yield start
    for client in clients:
        client.__exit__(None, None, None)


@pytest.fixture
def client(opened: Open) -> TestClient:
    return opened()


@pytest.fixture
def case(client: TestClient) -> str:
    """The address of an open case with one finding."""
    return str(client.post("/v1/cases", json={"equipment": "toy-urn", "findings": [COLD]}).headers["location"])
