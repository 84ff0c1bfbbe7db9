"""A word on standard error for anything that takes more than a second."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

PATIENCE = 1.0
"""Seconds before anything is said."""


@contextmanager
def progress(what: str, patience: float = PATIENCE) -> Iterator[None]:
    """Say what is going on if it takes longer than `patience` seconds, and how long it took."""
    begun = time.monotonic()
    timer = threading.Timer(patience, lambda: print(f"... {what}", file=sys.stderr, flush=True))
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
        spent = time.monotonic() - begun
        if spent > patience:
            print(f"... {what}: {spent:.1f} s", file=sys.stderr, flush=True)
