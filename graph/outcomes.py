"""The outcomes of all observations, in one row of numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from graph.columns import Column, Matrix, Watch, entropy_rows, indicator
from graph.hypotheses import Floats, Ints


@dataclass(frozen=True, slots=True, eq=False)
class Outcomes:
    """The outcomes of T observations, those of observation i from `starts[i]` on; `owner` is i for each
    and `sums` (T x outcomes) adds them up, with many observations twice as quickly as sums of segments would.

    `told` (outcomes + T, P + 1) turns pattern masses into outcome masses and, below them, what each
    observation leaves open in nats. `unlisted_pattern` (T) is the pattern of the unlisted cause (P where it
    has none of its own). From `log_starts[o]` on, `log_chances` has log P(outcome o | pattern) for each
    pattern of the column; that of the unlisted cause is to be put at `log_unlisted[o]` (the spare place at
    the end where it has none).
    """

    starts: Ints
    owner: Ints
    sums: Matrix
    told: Matrix
    unlisted_pattern: Ints
    log_chances: Floats
    log_starts: Ints
    log_unlisted: Ints


def outcomes_of(columns: Sequence[Column], watches: Sequence[Watch], patterns: int) -> Outcomes:
    """Lay out the outcomes of all watches; `patterns` is P."""
    counts = np.array([w.chances.shape[1] for w in watches], dtype=np.int64)
    owner = np.repeat(np.arange(len(watches)), counts)
    lengths = np.array([len(w.chances) for w in watches], dtype=np.int64)[owner]
    log_starts = np.cumsum(lengths) - lengths
    unlisted = np.array([_unlisted(columns, w) for w in watches], dtype=np.int64)
    first = np.array([columns[w.column].first if w.column >= 0 else 0 for w in watches], dtype=np.int64)
    flat = np.concatenate([np.zeros(0), *(w.chances.T.ravel() for w in watches), np.ones(1)])
    with np.errstate(divide="ignore"):
        log_chances = np.log(flat)
    return Outcomes(
        starts=np.array([w.first for w in watches], dtype=np.int64),
        owner=owner,
        sums=indicator([owner], [np.arange(len(owner))], None, (len(watches), len(owner))),
        told=_told(columns, watches, len(owner), patterns),
        unlisted_pattern=np.where(unlisted < 0, patterns, first + unlisted),
        log_chances=log_chances,
        log_starts=log_starts,
        log_unlisted=np.where(unlisted[owner] < 0, len(flat) - 1, log_starts + unlisted[owner]),
    )


def chance_table(watches: Sequence[Watch]) -> Floats:
    """The chances of all watches below one another, zeros after the last outcome of each."""
    width = max((w.chances.shape[1] for w in watches), default=1)
    table = np.zeros((sum(len(w.chances) for w in watches), width))
    first = 0
    for watch in watches:
        table[first: first + len(watch.chances), : watch.chances.shape[1]] = watch.chances
        first += len(watch.chances)
    return table


def _unlisted(columns: Sequence[Column], watch: Watch) -> int:
    """The pattern of the unlisted cause in the watch's column, -1 where it has none."""
    unlisted = columns[watch.column].unlisted if watch.column >= 0 else None
    return -1 if unlisted is None else unlisted


def _told(columns: Sequence[Column], watches: Sequence[Watch], outcomes: int, patterns: int) -> Matrix:
    reading = [(i, w) for i, w in enumerate(watches) if w.column >= 0]
    table = chance_table([w for _, w in reading])
    pieces = [columns[w.column].first + np.arange(len(w.chances)) for _, w in reading]
    pattern = np.concatenate([np.zeros(0, dtype=np.int64), *pieces])
    sizes = [len(w.chances) for _, w in reading]
    first = np.repeat(np.array([w.first for _, w in reading], dtype=np.int64), sizes)
    owner = np.repeat(np.array([i for i, _ in reading], dtype=np.int64), sizes)
    place, outcome = np.nonzero(table)
    entropy = entropy_rows(table)
    open_ = np.flatnonzero(entropy)
    return indicator(
        [first[place] + outcome, outcomes + owner[open_]],
        [pattern[place], pattern[open_]],
        [table[place, outcome], entropy[open_]],
        (outcomes + len(watches), patterns + 1),
    )
