"""Median times of one call."""

from __future__ import annotations

import gc
from collections.abc import Callable
from statistics import median
from time import perf_counter


def timed(call: Callable[[], object], seconds: float = 1.5, most: int = 1_000) -> float:
    """Median milliseconds of a call: warmed up, the collector off; of one call where it takes too long."""
    rounds: list[float] = []
    gc.collect()
    gc.disable()
    try:
        first = _seconds(call)
        if first > seconds:
            return first * 1e3
        while not rounds or (sum(rounds) < seconds and len(rounds) < most):
            rounds.append(_seconds(call))
    finally:
        gc.enable()
    return median(rounds) * 1e3


def _seconds(call: Callable[[], object]) -> float:
    begin = perf_counter()
    call()
    return perf_counter() - begin
