"""The command line's keys: make, list, rotate, revoke."""

from __future__ import annotations

import argparse
import sys
from contextlib import closing

from api.access import make_key, rotate_key
from api.clock import utc_now, written
from api.database import Database, open_database, upgrade
from api.storage import keys
from api.storage.keys import KeyRecord

OK, FAILED = 0, 1


def run(given: argparse.Namespace) -> int:
    """Do what `halfsplit key …` was asked."""
    with closing(open_database(given.database)) as database:
        upgrade(database)
        return {"create": _create, "list": _list, "rotate": _rotate, "revoke": _revoke}[given.action](database, given)


def _create(database: Database, given: argparse.Namespace) -> int:
    try:
        new = make_key(database, utc_now, given.tenant, given.scope or ("admin",), given.title, given.days)
    except ValueError as error:
        print(f"halfsplit: {error}", file=sys.stderr)
        return 2
    _told(new.record, "This is the only time it is shown.")
    print(new.text)
    return OK


def _list(database: Database, given: argparse.Namespace) -> int:
    now = written(utc_now())
    found = [r for r in database.read(lambda db: list(keys.every(db))) if given.tenant in (None, r.tenant)]
    for r in found:
        state = f"revoked {r.revoked}" if r.revoked else "expired" if not r.stands(now) else \
            f"until {r.expires}" if r.expires else "no end"
        print(f"{r.id}  {r.tenant}  {','.join(sorted(r.scopes))}  made {r.created}  {state}  {r.title}".rstrip())
    if not found:
        print("There are no keys. Make one with: halfsplit key create", file=sys.stderr)
    return OK


def _rotate(database: Database, given: argparse.Namespace) -> int:
    new = rotate_key(database, utc_now, given.id, given.overlap_hours)
    if new is None:
        return _no_such(given.id)
    _told(new.record, f"This is the only time it is shown. {given.id} ends in {given.overlap_hours:g} hours or before.")
    print(new.text)
    return OK


def _revoke(database: Database, given: argparse.Namespace) -> int:
    if not database.write(lambda db: keys.revoke(db, given.id, written(utc_now()))):
        return _no_such(given.id)
    print(f"{given.id} is revoked; running services refuse it within seconds.")
    return OK


def _no_such(name: str) -> int:
    print(f"halfsplit: there is no key {name!r} that stands; halfsplit key list shows them", file=sys.stderr)
    return FAILED


def _told(record: KeyRecord, more: str) -> None:
    """What the key is, beside the key itself, so that the latter can be taken from standard output."""
    end = f", until {record.expires}" if record.expires else ""
    said = f"Key {record.id} of tenant {record.tenant} for {', '.join(sorted(record.scopes))}{end}. {more}"
    print(said, file=sys.stderr)
