"""Services in which nothing may be stored."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests import postgresql
from tests.api.hostile.taking import Service, running


@pytest.fixture(scope="package")
def on_sqlite(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    with running(str(tmp_path_factory.mktemp("hostile") / "cases.db")) as found:
        yield found


@pytest.fixture(scope="package")
def on_postgresql(postgresql_socket: str) -> Iterator[Service]:
    with postgresql.new_database(postgresql_socket) as url, running(url) as found:
        yield found


def unchanged(found: Service) -> Iterator[Service]:
    """A service in which nothing may be stored."""
    before = found.stored()
    yield found
    assert found.stored() == before


@pytest.fixture
def service(on_sqlite: Service) -> Iterator[Service]:
    yield from unchanged(on_sqlite)


@pytest.fixture(params=["on_sqlite", "on_postgresql"])
def either(request: pytest.FixtureRequest) -> Iterator[Service]:
    """A service on each database, for what one of them might take and the other not."""
    yield from unchanged(request.getfixturevalue(request.param))
