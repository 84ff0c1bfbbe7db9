from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from api.settings import Settings

EQUIPMENT = Path(__file__).parent / "equipment"
COLD = {"about": "water_cold", "outcome": "present"}

Open = Callable[..., TestClient]


def settings(**changed: Any) -> Settings:
    return Settings(**{"database": ":memory:", "equipment": (EQUIPMENT,), "packaged": False, **changed})


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
