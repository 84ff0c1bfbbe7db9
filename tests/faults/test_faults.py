"""What happens when the process, the disk or the database fails."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import psycopg
import pytest
from fastapi.testclient import TestClient
from sqlalchemy import event

import api.database
from api.app import create_app
from api.database import open_database
from tests.api.conftest import COLD, settings
from tests.api.conftest import database_url as database_url
from tests.api.conftest import postgresql_socket as postgresql_socket
from tests.faults.kept import verify
from tests.faults.killing import database_killed, service_killed
from tests.postgresql import new_database, server
from tests.processes import free_port, running, started, urn

OPEN = {"equipment": "toy-urn", "findings": [COLD]}


def test_what_was_acknowledged_survives_being_killed(database_url: str) -> None:
    kills = 10 if database_url.startswith("postgresql") else 25
    port = free_port()
    record = service_killed(kills, lambda _: started(urn(database_url, port)), database_url, port)
    kept = verify(database_url, record)
    assert record.kills == kills
    assert kept["cases"] and kept["findings"] and kept["revisions"]


def test_what_was_acknowledged_survives_the_database_being_killed() -> None:
    with server() as socket, new_database(socket) as url:
        port = free_port()
        with running(urn(url, port)):
            record = database_killed(5, url, port)
        kept = verify(url, record)
    assert record.kills == 5
    assert kept["cases"] and kept["findings"] and kept["revisions"]


@contextmanager
def served(url: str) -> Iterator[TestClient]:
    with TestClient(create_app(settings(database=url)), raise_server_exceptions=False) as client:
        yield client


def posted(client: TestClient, key: str = "k") -> Any:
    return client.post("/v1/cases", json=OPEN, headers={"idempotency-key": key})


def refused(client: TestClient, status: int, code: str) -> None:
    said = posted(client)
    assert (said.status_code, said.json()["type"]) == (status, f"/problems/{code}"), said.text
    assert int(said.headers["retry-after"]) > 0
    assert client.get("/v1/health").status_code == 200


def recovered(client: TestClient) -> None:
    assert posted(client).status_code == 201
    assert posted(client).content == posted(client).content
    assert len(client.get("/v1/cases").json()["cases"]) == 1


def test_a_full_disk_is_told_and_recovered_from(tmp_path: Path) -> None:
    with served(str(tmp_path / "cases.db")) as client:
        database = client.app.state.service.database  # type: ignore[attr-defined]
        with database.engine.connect() as db:
            pages = db.exec_driver_sql("PRAGMA page_count").scalar()
        database.close()

        def limit(most: int) -> None:
            database.close()
            original = sqlite3.connect

            def connect(*given: Any, **more: Any) -> sqlite3.Connection:
                connection: sqlite3.Connection = original(*given, **more)
                connection.execute(f"PRAGMA max_page_count={most}")
                return connection

            database.engine.dialect.loaded_dbapi.connect = connect

        original = database.engine.dialect.loaded_dbapi.connect
        try:
            limit(int(pages))
            long = {"idempotency-key": "long"}
            said = client.post("/v1/cases", json={**OPEN, "complaint": "x" * 2000, "findings": [
                {**COLD, "note": "y" * 2000} for _ in range(20)
            ]}, headers=long)
            assert (said.status_code, said.json()["type"]) == (507, "/problems/storage-full"), said.text
            assert client.get("/v1/cases").json()["cases"] == []
        finally:
            database.engine.dialect.loaded_dbapi.connect = original
            database.close()
        recovered(client)


def test_a_locked_database_is_told_and_recovered_from(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(api.database, "BUSY_SECONDS", 0.05)
    with served(str(tmp_path / "cases.db")) as client:
        other = sqlite3.connect(tmp_path / "cases.db", isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        refused(client, 503, "storage-busy")
        assert client.get("/v1/cases").status_code == 200, "reading goes on"
        other.rollback()
        other.close()
        recovered(client)


def test_a_database_that_can_not_be_written_is_told_and_recovered_from(tmp_path: Path) -> None:
    with served(str(tmp_path / "cases.db")) as client:
        service = client.app.state.service  # type: ignore[attr-defined]
        engine = service.database.engine

        def freeze(connection: Any, _: object) -> None:
            connection.execute("PRAGMA query_only=ON")

        event.listen(engine, "connect", freeze)
        engine.dispose()
        refused(client, 503, "storage-unavailable")
        event.remove(engine, "connect", freeze)
        engine.dispose()
        recovered(client)


def test_readiness_needs_the_database_and_liveness_does_not(tmp_path: Path) -> None:
    with served(str(tmp_path / "cases.db")) as client:
        service = client.app.state.service  # type: ignore[attr-defined]
        assert client.get("/v1/ready").json() == {"status": "ok"}
        working = service.database
        service.database = open_database("/proc/nowhere.db")
        assert client.get("/v1/health").json() == {"status": "ok"}
        unready = client.get("/v1/ready")
        assert (unready.status_code, unready.json()["type"]) == (503, "/problems/not-ready")
        service.database = working


def test_lost_connections_are_made_again(postgresql_socket: str) -> None:
    with new_database(postgresql_socket) as url, served(url) as client:
        assert posted(client).status_code == 201
        with psycopg.connect(host=postgresql_socket, user="postgres", dbname="postgres", autocommit=True) as admin:
            admin.execute("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname LIKE 'test_%'")
        recovered(client)


def test_a_server_that_is_gone_is_told_and_recovered_from(postgresql_socket: str) -> None:
    with new_database(postgresql_socket) as url, served(url) as client:
        client.app.state.service.database.close()  # type: ignore[attr-defined]
        name = next(p for p in Path(postgresql_socket).iterdir() if p.is_socket())
        away = name.with_name("away")
        os.rename(name, away)
        try:
            refused(client, 503, "storage-unavailable")
        finally:
            os.rename(away, name)
        recovered(client)
