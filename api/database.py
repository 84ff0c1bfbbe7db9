"""The database: opening it, its transactions and migrations, and the one place that tells SQLite from PostgreSQL."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from importlib.resources import files
from pathlib import Path
from threading import Lock
from typing import Any, TypeVar

from sqlalchemy import Connection, Engine, QueuePool, create_engine, event, text
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import DBAPIError

BUSY_SECONDS = 5
_LOCK = text("SELECT pg_advisory_xact_lock(hashtextextended(:name, 0))")
_TRY_LOCK = text("SELECT pg_try_advisory_xact_lock(hashtextextended(:name, 0))")
_ONE = text("SELECT 1")
T = TypeVar("T")


class DatabaseBusy(Exception):
    """Others write, and have done so for longer than a request waits."""


class Database:
    """One database. Reads see one consistent state; a write is one transaction, and SQLite has one writer at a time."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine
        self.embedded = engine.dialect.name == "sqlite"
        self._reader = engine if self.embedded else engine.execution_options(
            isolation_level="REPEATABLE READ", postgresql_readonly=True
        )
        self._writer = Lock()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection that sees one consistent state and writes nothing."""
        with self._reader.connect() as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction; commits at the end, rolls back on any error. Raises DatabaseBusy."""
        with self._turn(), self.engine.connect().execution_options(writes=True) as connection, connection.begin():
            yield connection

    def read(self, work: Callable[[Connection], T]) -> T:
        """What `work` reads."""
        with self.reading() as connection:
            return work(connection)

    def write(self, work: Callable[[Connection], T]) -> T:
        """What `work` returns, committed."""
        with self.writing() as connection:
            return work(connection)

    def close(self) -> None:
        """Let go of every connection."""
        self.engine.dispose()

    def answers(self) -> bool:
        """Whether the database answers a query."""
        with self.reading() as connection:
            return connection.execute(_ONE).scalar() == 1

    def _turn(self) -> AbstractContextManager[object]:
        """SQLite's writers queue up here, in order, rather than at the file, where they would poll."""
        if not self.embedded:
            return nullcontext()
        if not self._writer.acquire(timeout=BUSY_SECONDS):
            raise DatabaseBusy
        return _held(self._writer)


@contextmanager
def _held(lock: Lock) -> Iterator[None]:
    try:
        yield
    finally:
        lock.release()


def open_database(database: str) -> Database:
    """The database of a path, `:memory:` or a SQLAlchemy URL."""
    if "://" not in database and database != ":memory:":
        Path(database).parent.mkdir(parents=True, exist_ok=True)
    url = _url(database)
    return Database(_sqlite(url) if embedded(database) else _postgresql(url))


def embedded(database: str) -> bool:
    """Whether a path or a URL stands for SQLite, which serves one process."""
    return _url(database).get_backend_name() == "sqlite"


def _url(database: str) -> URL:
    return make_url(database if "://" in database else f"sqlite:///{database}")


def _postgresql(url: URL) -> Engine:
    if url.drivername in ("postgresql", "postgres"):
        url = url.set(drivername="postgresql+psycopg")
    limits = f"-c lock_timeout={BUSY_SECONDS}s -c statement_timeout=30s -c idle_in_transaction_session_timeout=60s"
    return create_engine(
        url, pool_pre_ping=True, pool_size=10, max_overflow=20, pool_timeout=BUSY_SECONDS,
        connect_args={"connect_timeout": BUSY_SECONDS, "options": limits},
    )


def _sqlite(url: URL) -> Engine:
    options: dict[str, Any] = {"connect_args": {"check_same_thread": False}}
    if url.database in (None, "", ":memory:"):  # one connection, used in turn: each would have a memory of its own
        options |= {"poolclass": QueuePool, "pool_size": 1, "max_overflow": 0}
    else:
        options |= {"pool_size": 10, "max_overflow": 40, "pool_timeout": BUSY_SECONDS}
    engine = create_engine(url, **options)
    event.listen(engine, "connect", _prepare_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _prepare_sqlite(connection: Any, _: object) -> None:
    connection.isolation_level = None  # transactions begin where `_begin_sqlite` says
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout={BUSY_SECONDS * 1000}")
    cursor.execute("PRAGMA journal_mode=WAL")
    cursor.execute("PRAGMA synchronous=FULL")
    cursor.execute("PRAGMA foreign_keys=ON")
    cursor.close()


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def take_turn(db: Connection, name: str) -> None:
    """Hold other transactions that take the same turn until this one ends. A writer of SQLite has it already."""
    if db.dialect.name != "sqlite":
        db.execute(_LOCK, {"name": name})


def first_in(db: Connection, name: str) -> bool:
    """Take the turn if nobody has it; whether that was so."""
    return db.dialect.name == "sqlite" or bool(db.execute(_TRY_LOCK, {"name": name}).scalar())


def upgrade(database: Database, target: str = "head") -> None:
    """Bring the schema to the newest migration; safe to call from several workers."""
    if target == "head" and version(database) == newest():
        return
    from alembic import command  # slow to import, and a schema changes once in many starts
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "api:migrations")
    config.set_main_option("path_separator", "os")
    with (
        database.engine.connect().execution_options(writes=True) as connection,
        _tables_may_be_rebuilt(connection),
        connection.begin(),
    ):
        if not database.embedded:
            connection.exec_driver_sql("SET LOCAL lock_timeout = '60s'; SET LOCAL statement_timeout = 0")
        take_turn(connection, "migrations")
        config.attributes["connection"] = connection
        command.upgrade(config, target)


def newest() -> str:
    """The newest migration's revision: migrations are named by theirs, `v0001_cases` is 0001."""
    steps = (entry.name for entry in files("api.migrations").joinpath("versions").iterdir())
    return max(name[1:5] for name in steps if name.startswith("v") and name.endswith(".py"))


def version(database: Database) -> str | None:
    """The revision of the schema; None where there is none yet."""
    try:
        with database.reading() as connection:
            found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    except DBAPIError:
        return None
    return None if found is None else str(found)


@contextmanager
def _tables_may_be_rebuilt(connection: Connection) -> Iterator[None]:
    """SQLite changes a table by building it anew, which its foreign keys must not notice."""
    if connection.dialect.name != "sqlite":
        yield
        return
    direct: Any = connection.connection.driver_connection
    direct.execute("PRAGMA foreign_keys=OFF")
    try:
        yield
    finally:
        direct.execute("PRAGMA foreign_keys=ON")
