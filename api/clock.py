"""The time, from outside: nothing else in the service asks what time it is."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

Clock = Callable[[], datetime]


def utc_now() -> datetime:
    """The present moment in UTC."""
    return datetime.now(UTC)


def written(moment: datetime) -> str:
    """A moment as RFC 3339 text in UTC, to the millisecond."""
    return moment.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
