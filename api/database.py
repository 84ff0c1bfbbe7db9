"""The database: opening it, its migrations, and the one place that knows SQLite from others."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from importlib.resources import files
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, StaticPool, create_engine, event, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import DBAPIError

BUSY_MILLISECONDS = 5000


def open_engine(database: str) -> Engine:
    """An engine for a path, `:memory:` or a SQLAlchemy URL."""
    if "://" not in database:
        if database != ":memory:":
            Path(database).parent.mkdir(parents=True, exist_ok=True)
        database = f"sqlite:///{database}"
    url = make_url(database)
    if url.get_backend_name() != "sqlite":
        return create_engine(url, pool_pre_ping=True)
    options: dict[str, Any] = {"connect_args": {"check_same_thread": False}}
    if url.database in (None, "", ":memory:"):
        options["poolclass"] = StaticPool
    engine = create_engine(url, **options)
    event.listen(engine, "connect", _prepare_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _prepare_sqlite(connection: Any, _: object) -> None:
    connection.isolation_level = None  # transactions begin where `_begin_sqlite` says
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout={BUSY_MILLISECONDS}")
    cursor.execute("PRAGMA journal_mode=WAL")
    cursor.execute("PRAGMA synchronous=FULL")
    cursor.execute("PRAGMA foreign_keys=ON")
    cursor.close()


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A connection that sees one consistent state and writes nothing."""
    with engine.connect() as connection:
        yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A transaction that takes the write lock at once; commits at the end, rolls back on any error."""
    with engine.connect().execution_options(writes=True) as connection, connection.begin():
        yield connection


def upgrade(engine: Engine) -> None:
    """Bring the schema to the newest migration; safe to call from several workers."""
    if version(engine) == newest():
        return
    from alembic import command  # slow to import, and a schema changes once in many starts
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "api:migrations")
    config.set_main_option("path_separator", "os")
    with writing(engine) as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "head")


def newest() -> str:
    """The newest migration's revision: migrations are named by theirs, `v0001_cases` is 0001."""
    steps = (entry.name for entry in files("api.migrations").joinpath("versions").iterdir())
    return max(name[1:5] for name in steps if name.startswith("v") and name.endswith(".py"))


def version(engine: Engine) -> str | None:
    """The revision of the schema; None where there is none yet."""
    try:
        with reading(engine) as connection:
            found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    except DBAPIError:
        return None
    return None if found is None else str(found)


def answers(engine: Engine) -> bool:
    """Whether the database answers a query."""
    with reading(engine) as connection:
        return connection.execute(text("SELECT 1")).scalar() == 1
