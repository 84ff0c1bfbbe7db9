"""Effort that is the same on every machine: function calls, not seconds."""

from __future__ import annotations

import sys
from collections.abc import Callable


def calls_made(work: Callable[[], object]) -> int:
    """How many functions, of Python and of C, are called while `work` runs."""
    count = 0

    def note(_frame: object, event: str, _of: object) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(note)
    try:
        work()
    finally:
        sys.setprofile(before)
    return count
