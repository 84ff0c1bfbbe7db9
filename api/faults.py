"""What a database's failures mean to a caller."""

from __future__ import annotations

from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from api.database import DatabaseBusy
from api.problems import Refusal

_AGAIN = {"retry-after": "1"}
_BUSY_STATES = ("55P03", "40001", "40P01", "57014")
"""PostgreSQL: lock not available, serialization failure, deadlock, statement cancelled."""


def refusal_of_fault(error: SQLAlchemyError | DatabaseBusy) -> Refusal | None:
    """The failure as a refusal; None where it is a defect of the service."""
    if isinstance(error, DatabaseBusy | PoolTimeout):
        return Refusal("storage-busy", "the database was busy for longer than a request waits", headers=_AGAIN)
    if not isinstance(error, DBAPIError):
        return None
    state = getattr(error.orig, "sqlstate", None)
    name = getattr(error.orig, "sqlite_errorname", "")
    if state in _BUSY_STATES or name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return Refusal("storage-busy", "the database was busy for longer than a request waits", headers=_AGAIN)
    if state == "53100" or name.startswith("SQLITE_FULL"):
        return Refusal("storage-full", "the database has no room left", headers={"retry-after": "60"})
    broken = state is None and _operational(error)
    lost = error.connection_invalidated or broken or str(state)[:2] in ("08", "53", "57")
    if lost or state == "25006" or name.startswith(("SQLITE_READONLY", "SQLITE_IOERR", "SQLITE_CANTOPEN")):
        return Refusal("storage-unavailable", "the database can't be reached or written", headers=_AGAIN)
    return None


def _operational(error: DBAPIError) -> bool:
    return type(error.orig).__name__ == "OperationalError" and not hasattr(error.orig, "sqlite_errorname")
