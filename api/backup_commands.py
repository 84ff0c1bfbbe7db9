"""The command line's backup and restore."""

from __future__ import annotations

import argparse
import sys
from contextlib import closing

from sqlalchemy.exc import DatabaseError

from api.backup import BackupRefused, backup, restore
from api.database import open_database, upgrade

OK, FAILED = 0, 1


def run(given: argparse.Namespace) -> int:
    """Do what `halfsplit backup` or `halfsplit restore` was asked."""
    try:
        with closing(open_database(given.database)) as database:
            upgrade(database)
            if given.command == "backup":
                rows = backup(database, given.file)
                print(f"{given.file}: {rows:,} rows. It is a SQLite database; restore it, or serve it as it is.")
            else:
                rows = restore(given.file, database)
                print(f"{rows:,} rows restored from {given.file}.")
    except BackupRefused as error:
        print(f"halfsplit: {error}", file=sys.stderr)
        return FAILED
    except DatabaseError as error:
        print(f"halfsplit: {given.file} or the database can't be read: {error.orig}", file=sys.stderr)
        return FAILED
    return OK
