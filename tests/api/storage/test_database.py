"""Transactions and migrations on both databases."""

from __future__ import annotations

import threading

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from fastapi.testclient import TestClient
from sqlalchemy import inspect, text

from api.app import create_app
from api.database import Database, open_database, upgrade
from api.example_graph import TEXT
from api.models import Canonical
from api.tables import metadata
from schemas.document import Document
from schemas.source import parse
from tests.api.conftest import settings

GRAPH = Canonical.of(Document.model_validate(parse(TEXT).data))


def test_migrations_from_empty_make_the_tables(database: Database) -> None:
    with database.reading() as db:
        assert compare_metadata(MigrationContext.configure(db), metadata) == []
    assert set(metadata.tables) < set(inspect(database.engine).get_table_names())
    upgrade(database)


CASE = "01m88z3x6604tztnsprqx9gak9"
OLD: dict[str, list[tuple[str | int, ...]]] = {
    "graph_revision": [(GRAPH.digest, "quillmere-u2", 3, GRAPH.text.decode(), "2026-01-05T09:00:00.000Z")],
    "service_case": [(
        CASE, 2, "closed", "quillmere-u2", GRAPH.digest, "WO-1", "cold",
        '{"conditions":{},"asker":{"role":"site_contact"}}', "2026-01-05T09:00:00.000Z", "2026-01-05T10:00:00.000Z",
    )],
    "finding": [
        (CASE, 1, '{"about":"water_cold","outcome":"present"}', "2026-01-05T09:00:00.000Z"),
        (CASE, 2, '{"about":"lamp_dark","outcome":"present"}', "2026-01-05T09:10:00.000Z"),
    ],
    "withdrawal": [(CASE, 2, '{"reason":"slip","by":null}', "2026-01-05T09:20:00.000Z")],
    "closure": [(CASE, '{"found":"unlisted"}', "2026-01-05T10:00:00.000Z")],
}
"""What version 0001 of the schema holds, by table."""


def test_what_the_first_release_stored_is_still_there(database_url: str) -> None:
    database = open_database(database_url)
    upgrade(database, "0001")
    with database.writing() as db:
        for table, rows in OLD.items():
            for row in rows:
                places = ", ".join(f":v{i}" for i in range(len(row)))
                db.execute(text(f"INSERT INTO {table} VALUES ({places})"), {f"v{i}": v for i, v in enumerate(row)})
    upgrade(database)
    with database.reading() as db:
        assert compare_metadata(MigrationContext.configure(db), metadata) == []
        if database.embedded:
            assert db.execute(text("PRAGMA foreign_key_check")).all() == []
            assert db.execute(text("PRAGMA foreign_keys")).scalar() == 1
    database.close()
    with TestClient(create_app(settings(database=database_url))) as client:
        case = client.get(f"/v1/cases/{CASE}").json()
        assert case["graph"] == {"equipment": "quillmere-u2", "revision": 3, "digest": GRAPH.digest, "overlay": None}
        assert [f["withdrawn"] is None for f in case["findings"]] == [True, False]
        assert case["closure"]["closure"]["found"] == "unlisted"
        assert case["metadata"] == {}
        assert client.get(f"/v1/cases/{CASE}/suspects").status_code == 200
        assert client.get("/v1/cases?external_id=WO-1").json()["cases"][0]["id"] == case["id"]


def test_a_failed_transaction_leaves_nothing(database: Database) -> None:
    def fail() -> None:
        with database.writing() as db:
            db.execute(text("INSERT INTO graph_document VALUES ('d', '{}')"))
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()
    with database.reading() as db:
        assert db.execute(text("SELECT count(*) FROM graph_document")).scalar() == 0


def test_a_reader_sees_one_state_while_others_write(database: Database) -> None:
    count = text("SELECT count(*) FROM graph_document")
    with database.reading() as db:
        assert db.execute(count).scalar() == 0

        def write() -> None:
            with database.writing() as other:
                other.execute(text("INSERT INTO graph_document VALUES ('d', '{}')"))

        thread = threading.Thread(target=write)
        thread.start()
        thread.join()
        assert db.execute(count).scalar() == 0
    with database.reading() as db:
        assert db.execute(count).scalar() == 1


def test_sqlite_is_set_to_keep_what_it_acknowledged(tmp_path_factory: pytest.TempPathFactory) -> None:
    database = open_database(str(tmp_path_factory.mktemp("set") / "cases.db"))
    with database.reading() as db:
        names = ("journal_mode", "synchronous", "busy_timeout", "foreign_keys")
        found = {name: db.execute(text(f"PRAGMA {name}")).scalar() for name in names}
    database.close()
    assert found == {"journal_mode": "wal", "synchronous": 2, "busy_timeout": 5000, "foreign_keys": 1}


def test_a_second_writer_from_another_process_waits_for_its_turn(tmp_path_factory: pytest.TempPathFactory) -> None:
    path = str(tmp_path_factory.mktemp("turn") / "cases.db")
    one, two = open_database(path), open_database(path)
    with one.writing(), two.engine.connect().execution_options(writes=True) as other:
        other.connection.cursor().execute("PRAGMA busy_timeout=1")
        with pytest.raises(Exception, match="locked"):
            other.begin()
    one.close()
    two.close()
