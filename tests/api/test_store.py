from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from fastapi.testclient import TestClient
from sqlalchemy import Engine, inspect, text

from api.database import open_engine, reading, upgrade, writing
from api.example_graph import TEXT
from api.examples import example_clock, example_names
from api.identity import case_names
from api.models import Canonical, Models
from api.problems import Refusal
from api.store import Store
from api.tables import metadata
from schemas.answers import GraphStamp
from schemas.document import Document
from schemas.requests import CaseRequest, FindingGiven
from schemas.source import parse

GRAPH = Canonical.of(Document.model_validate(parse(TEXT).data))
COLD = FindingGiven(about="water_cold", outcome="present")


@pytest.fixture
def engine(tmp_path: Path) -> Iterator[Engine]:
    engine = open_engine(str(tmp_path / "new" / "cases.db"))
    upgrade(engine)
    yield engine
    engine.dispose()


@pytest.fixture
def store(engine: Engine) -> Store:
    clock = example_clock()
    return Store(engine, clock, example_names(clock))


def test_migrations_from_empty_make_the_tables(engine: Engine) -> None:
    with reading(engine) as db:
        assert compare_metadata(MigrationContext.configure(db), metadata) == []
    assert set(metadata.tables) < set(inspect(engine).get_table_names())
    upgrade(engine)


def test_sqlite_is_set_to_keep_what_it_acknowledged(engine: Engine) -> None:
    with reading(engine) as db:
        names = ("journal_mode", "synchronous", "busy_timeout", "foreign_keys")
        settings = {name: db.execute(text(f"PRAGMA {name}")).scalar() for name in names}
    assert settings == {"journal_mode": "wal", "synchronous": 2, "busy_timeout": 5000, "foreign_keys": 1}


def test_a_failed_transaction_leaves_nothing(engine: Engine) -> None:
    statement = text("INSERT INTO graph_revision VALUES ('d', 'e', 1, '{}', 'now')")

    def fail() -> None:
        with writing(engine) as db:
            db.execute(statement)
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()
    with reading(engine) as db:
        assert db.execute(text("SELECT count(*) FROM graph_revision")).scalar() == 0


def test_a_second_writer_waits_for_its_turn(engine: Engine) -> None:
    with writing(engine), engine.connect().execution_options(writes=True) as other:
        other.connection.cursor().execute("PRAGMA busy_timeout=1")
        with pytest.raises(Exception, match="locked"):
            other.begin()


def test_a_document_is_one_revision_however_often_it_is_loaded(store: Store) -> None:
    changed = parse(TEXT.replace("price: 61", "price: 62")).data
    other = Canonical.of(Document.model_validate(changed))
    numbers = [store.revision_of("quillmere-u2", g) for g in (GRAPH, GRAPH, other, GRAPH)]
    assert numbers == [1, 1, 2, 1]
    assert store.document(other.digest) == other


def test_the_canonical_form_reads_back_as_itself() -> None:
    assert Canonical.of(GRAPH.document()) == GRAPH


def opened(store: Store) -> tuple[Store, GraphStamp]:
    number = store.revision_of("quillmere-u2", GRAPH)
    return store, GraphStamp("quillmere-u2", number, GRAPH.digest)


def test_a_change_of_an_old_version_is_refused(store: Store) -> None:
    store, stamp = opened(store)
    case = store.open_case(CaseRequest(equipment="quillmere-u2"), stamp)
    after = store.append(case, [COLD])
    assert (after.version, len(after.findings)) == (2, 1)
    with pytest.raises(Refusal, match="no longer the newest"):
        store.append(case, [COLD])
    assert store.case(case.id) == after


def test_times_come_from_the_clock(store: Store) -> None:
    store, stamp = opened(store)
    case = store.open_case(CaseRequest(equipment="quillmere-u2"), stamp)
    assert case.created.startswith("2026-03-02T08:")
    assert case.created.endswith("Z")
    assert store.append(case, [COLD]).updated > case.created


def test_case_names_sort_by_time_and_never_repeat() -> None:
    clock = example_clock()
    name = case_names(clock)
    names = [name() for _ in range(200)]
    assert names == sorted(set(names))
    assert all(len(n) == 26 and n.isascii() for n in names)


def test_only_the_last_models_are_kept() -> None:
    models = Models(most=2)
    texts = [TEXT.replace("price: 61", f"price: {n}") for n in (1, 2, 3)]
    graphs = [Canonical.of(Document.model_validate(parse(text).data)) for text in texts]
    compiled = [models.compiled(g, 1000) for g in graphs]
    assert models.kept(graphs[0].digest) is None
    assert models.kept(graphs[2].digest) is compiled[2] is models.compiled(graphs[2], 1000)


def test_liveness_does_not_need_the_database_and_readiness_does(client: TestClient) -> None:
    assert client.get("/v1/ready").json() == {"status": "ok"}
    service = client.app.state.service  # type: ignore[attr-defined]
    with writing(service.store.engine) as db:
        db.execute(text("SELECT 1"))
    service.store.engine.dispose()
    object.__setattr__(service.store, "engine", open_engine("/proc/nowhere.db"))
    assert client.get("/v1/health").json() == {"status": "ok"}
    unready = client.get("/v1/ready")
    assert (unready.status_code, unready.json()["type"]) == (503, "/problems/not-ready")
