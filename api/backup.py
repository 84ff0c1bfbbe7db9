"""Backups: a database copied while it is used, into a SQLite file that can be served as it is.

Whatever it was taken from, a backup is a Halfsplit database in SQLite; so it also moves one to PostgreSQL or back.
"""

from __future__ import annotations

import os
import shutil
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from sqlalchemy import func, insert, select

from api.database import Database, open_database, upgrade
from api.tables import metadata

_ROWS = 500


class BackupRefused(Exception):
    """A backup or its return that would overwrite something, or can't be trusted."""


def backup(source: Database, target: Path) -> int:
    """Copy a database into a new file; how many rows it has. Raises BackupRefused where the file exists."""
    if target.exists():
        raise BackupRefused(f"{target} exists already; a backup overwrites nothing")
    part = target.with_name(target.name + ".part")
    part.unlink(missing_ok=True)
    try:
        if source.embedded:
            _copy_file(source, part)
        else:
            with closing(open_database(str(part))) as copy:
                upgrade(copy)
                _copy_rows(source, copy)
        rows = checked(part)
        os.replace(part, target)
    finally:
        for name in ("", "-wal", "-shm"):
            Path(str(part) + name).unlink(missing_ok=True)
    return rows


def restore(source: Path, target: Database) -> int:
    """Put a backup's rows into an empty database; how many. Raises BackupRefused where it holds something."""
    if not source.is_file():
        raise BackupRefused(f"there is no file {source}")
    upgrade(target)
    with target.reading() as db:
        full = [t.name for t in metadata.sorted_tables if db.execute(select(func.count()).select_from(t)).scalar()]
    if full:
        raise BackupRefused(f"the database holds rows already (in {', '.join(full)}); restore into a new one")
    with TemporaryDirectory() as folder:  # an older backup is brought to the newest schema, and stays as it is
        file = Path(shutil.copy(source, folder))
        checked(file)
        with closing(open_database(str(file))) as copy:
            return _copy_rows(copy, target)


def checked(file: Path) -> int:
    """How many rows a backup has, brought to the newest schema. Raises BackupRefused where it isn't sound."""
    with closing(open_database(str(file))) as copy:
        with copy.reading() as db:
            if db.exec_driver_sql("PRAGMA quick_check").scalar() != "ok":
                raise BackupRefused(f"{file} is damaged")
            tables = {name for name, in db.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'table'")}
            if "service_case" not in tables:
                raise BackupRefused(f"{file} is a database, but not one of Halfsplit's")
        upgrade(copy)
        with copy.reading() as db:
            return sum(
                int(db.execute(select(func.count()).select_from(t)).scalar_one()) for t in metadata.sorted_tables
            )


def _copy_file(source: Database, target: Path) -> None:
    with source.engine.connect() as connection, closing(open_database(str(target))) as copy:
        direct: Any = connection.connection.driver_connection
        with copy.engine.connect() as other:
            direct.backup(other.connection.driver_connection, pages=1000)


def _copy_rows(source: Database, target: Database) -> int:
    """Every row, from one consistent state, in one transaction."""
    rows = 0
    with source.reading() as here, target.writing() as there:
        for table in metadata.sorted_tables:
            found = here.execution_options(yield_per=_ROWS).execute(select(table))
            for batch in found.mappings().partitions(_ROWS):
                there.execute(insert(table), [dict(row) for row in batch])
                rows += len(batch)
    return rows
