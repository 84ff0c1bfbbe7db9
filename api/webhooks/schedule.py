"""When a failed call is tried again: soon, then ever later, for about three days.

The delays are those that Standard Webhooks (specification 1.0, "Deliverability and reliability", from
memory) gives as an example: quick enough for a restart, long enough for a weekend.
"""

from __future__ import annotations

from datetime import timedelta
from zlib import crc32

DELAYS = tuple(timedelta(seconds=s) for s in (
    5, 5 * 60, 30 * 60, 2 * 3600, 5 * 3600, 10 * 3600, 14 * 3600, 20 * 3600, 24 * 3600,
))
SPREAD = 0.1
"""Share of a delay by which calls are moved apart, so that a subscriber that comes back isn't met by all at once."""


def next_delay(attempts: int, delivery: str, asked: timedelta | None = None) -> timedelta | None:
    """How long to wait after so many attempts, or None where it was the last.

    `asked` is the subscriber's own Retry-After, honoured up to a day.
    """
    if attempts > len(DELAYS):
        return None
    share = 1 + SPREAD * (crc32(f"{delivery}/{attempts}".encode()) / 0xFFFFFFFF)
    usual = DELAYS[attempts - 1] * share
    return max(usual, min(asked, timedelta(days=1))) if asked is not None else usual
