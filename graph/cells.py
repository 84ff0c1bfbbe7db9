"""Cells: the classes whose rows differ in what an observation may show, and the parts that they consist of.

A *view* is a column as an observation sees it: patterns with the same chances are one *kind*. A *cell* is a
class in a view with rows of two kinds or more, a *part* the rows of one kind in it. Few parts differ: what
happens upstream of many signals splits a class in the same way for all of them. A part is known by the sum of
random 64-bit numbers of its members (A. L. Zobrist, "A new hashing method with application for game playing",
1970): among a million parts two are mistaken for one another with chance 3e-8.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from graph.columns import Column, Matrix, PatternTable, Watch
from graph.hypotheses import Hypotheses, Ints

Hashes = NDArray[np.uint64]
CHUNK = 1_000_000


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """All cells, view by view, and their parts, cell by cell.

    `view_of` (T) is the view of each observation (-1: reads no column); view v has the cells from
    `view_first[v]` to `view_first[v + 1]`, cell c the parts from `first[c]` to `first[c + 1]`. `part` is the
    row of `masses` that gives the mass of each part, `kind` its pattern, `key` what it is known by; `total`
    the row of each cell's whole mass. The rows below `totals` of `masses` (Q x pooled masses) are wholes.
    """

    view_of: Ints
    view_first: Ints
    first: Ints
    part: Ints
    kind: Ints
    key: Hashes
    total: Ints
    totals: int
    masses: Matrix


@dataclass(frozen=True, slots=True, eq=False)
class _Views:
    """The views: their column and the kind of each pattern, from `start` on (-1: can't be made)."""

    column: Ints
    start: Ints
    kinds: Ints
    normal: Ints

    @classmethod
    def of(cls, columns: Sequence[Column], watches: Sequence[Watch]) -> tuple[_Views, Ints]:
        """The views, column by column, and the view of each observation."""
        seen: dict[tuple[int, bytes], int] = {}
        kinds: list[Ints] = []
        order = sorted((w.column, i) for i, w in enumerate(watches) if w.column >= 0)
        view_of = np.full(len(watches), -1, dtype=np.int64)
        for number, i in order:
            alike, column = watches[i].alike, columns[number]
            key = number, alike.tobytes()
            if key not in seen:
                seen[key] = len(kinds)
                kinds.append(alike if column.foreign is None else np.where(
                    np.arange(column.count) == column.foreign, -1, alike))
            view_of[i] = seen[key]
        of_column = np.array([number for number, _ in seen], dtype=np.int64)
        sizes = np.array([len(k) for k in kinds], dtype=np.int64)
        normal = [int(k[columns[number].normal]) for k, (number, _) in zip(kinds, seen, strict=True)]
        flat = np.concatenate([np.zeros(0, dtype=np.int64), *kinds])
        return cls(of_column, np.cumsum(sizes) - sizes, flat, np.array(normal, dtype=np.int64)), view_of


@dataclass(frozen=True, slots=True, eq=False)
class _Places:
    """What the pooled masses are of: fault sets, then rows.

    `of` is the class of each place, numbered as they come, those of rows after those of fault sets; `key` its
    random number. Class c holds the places `member` from `first[c]` to `first[c + 1]`, its key is `keys[c]`.
    """

    of: Ints
    key: Hashes
    member: Ints
    first: Ints
    keys: Hashes

    @classmethod
    def of_rows(cls, of_row: Ints, classes: int, hypotheses: Hypotheses) -> _Places:
        """The places of all pooled masses."""
        of_set = np.zeros(hypotheses.fault_sets, dtype=np.int64)
        of_set[hypotheses.fault_set] = of_row
        of = np.concatenate([of_set, of_row + classes])[:hypotheses.places]
        _, example, of = np.unique(of, return_index=True, return_inverse=True)
        of = np.argsort(np.argsort(example))[of]
        key = np.random.default_rng(0).integers(2**64, size=len(of), dtype=np.uint64)
        member = np.argsort(of, kind="stable")
        first = np.searchsorted(of[member], np.arange(len(example) + 1))
        return cls(of, key, member, first, segment_sums(key[member], first))


def segment_sums(values: NDArray[np.uint64], first: Ints) -> NDArray[np.uint64]:
    """The sum of each segment, modulo 2^64; empty ones are 0."""
    total = np.concatenate([np.zeros(1, dtype=np.uint64), np.cumsum(values, dtype=np.uint64)])
    return np.asarray(total[first[1:]] - total[first[:-1]], dtype=np.uint64)


def blended(keys: Hashes) -> Hashes:
    """Numbers whose sums tell apart what the sums of `keys` don't (the finaliser of splitmix64)."""
    keys = (keys ^ (keys >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    keys = (keys ^ (keys >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return keys ^ (keys >> np.uint64(31))


def firsts(keys: Hashes, order: Ints) -> tuple[Ints, Ints]:
    """Where each distinct key occurs first, in the given order of places, and which of them each key is."""
    by_key = np.argsort(keys)
    begins = np.diff(keys[by_key], prepend=~keys[by_key[:1]]) != 0
    example = np.minimum.reduceat(by_key, np.flatnonzero(begins))
    sequence = np.lexsort((example, order[example]))
    rank = np.empty_like(sequence)
    rank[sequence] = np.arange(len(sequence))
    which = np.empty_like(by_key)
    which[by_key] = rank[np.cumsum(begins) - 1]
    return example[sequence], which


def spans(first: Ints, size: Ints) -> tuple[Ints, Ints]:
    """The numbers from `first[i]` on, `size[i]` of them, and the i of each."""
    of = np.repeat(np.arange(len(size)), size)
    return np.arange(len(of)) + np.repeat(first - np.cumsum(size) + size, size), of


def chunks(sizes: Ints, most: int = CHUNK) -> Iterator[tuple[int, int]]:
    """Cut a sequence into runs whose sizes add up to about `most`."""
    ends = np.cumsum(sizes)
    begin = 0
    while begin < len(sizes):
        limit = (ends[begin - 1] if begin else 0) + most
        end = max(begin + 1, int(np.searchsorted(ends, limit, side="right")))
        yield begin, end
        begin = end


def cells_of(
    of_row: Ints, classes: int, hypotheses: Hypotheses,
    columns: Sequence[Column], patterns: PatternTable, watches: Sequence[Watch],
) -> Cells:
    """Find the cells of every view."""
    views, view_of = _Views.of(columns, watches)
    places = _Places.of_rows(of_row, classes, hypotheses)
    entries = np.diff(patterns.begins)[views.column]
    found = [_found(views, places, patterns, begin, end) for begin, end in chunks(entries)]
    none = np.zeros(0, dtype=np.int64)
    view, of, size, kind = (np.concatenate([none, *(f[i] for f in found)]) for i in range(4))
    whole, key = (np.concatenate([none.astype(np.uint64), *(f[i] for f in found)]) for i in (4, 5))
    first = np.concatenate([[0], np.cumsum(size)])

    example, total = firsts(whole, of)
    of_part = np.repeat(np.arange(len(size)), size)
    sample, part = firsts(key, of[of_part])
    cell = np.concatenate([example, of_part[sample]])
    return Cells(
        view_of=view_of,
        view_first=np.searchsorted(view, np.arange(len(views.column) + 1)),
        first=first, part=len(example) + part, kind=kind, key=key, total=total, totals=len(example),
        masses=_masses(
            views, places, patterns, view[cell], of[cell],
            np.concatenate([np.full(len(example), -1), kind[sample]]),
        ),
    )


def _found(
    views: _Views, places: _Places, patterns: PatternTable, begin: int, end: int
) -> tuple[Ints, Ints, Ints, Ints, Hashes, Hashes]:
    """The cells of some views: view, class, number of parts and key of each; kind and key of their parts."""
    column = views.column[begin:end]
    entry, view = spans(patterns.begins[column], np.diff(patterns.begins)[column])
    view += begin
    place = patterns.place[entry]
    kind = views.kinds[views.start[view] + patterns.shown[entry]]
    differs = kind != views.normal[view]
    place, kind, view = place[differs], kind[differs], view[differs]
    width, classes = int(views.kinds.max(initial=0)) + 2, len(places.keys)
    label = (view * classes + places.of[place]) * width + kind + 1
    order = np.argsort(label, kind="stable")
    label, place = label[order], place[order]
    begins = np.flatnonzero(np.diff(label, prepend=-1, append=-1))
    key, label = segment_sums(places.key[place], begins), label[begins[:-1]]
    cell, kind = label // width, label % width - 1
    edges = np.flatnonzero(np.diff(cell, prepend=-1, append=-1))
    cell = cell[edges[:-1]]
    view, of = cell // classes, cell % classes

    normal = views.normal[view]
    whole, rest = places.keys[of], places.keys[of] - segment_sums(key, edges)
    more = (places.first[of + 1] - places.first[of] > begins[edges[1:]] - begins[edges[:-1]]) & (normal >= 0)
    foreign = kind < 0
    whole -= np.where(normal < 0, rest, 0) + np.where(foreign[edges[:-1]], key[edges[:-1]], 0)
    size = np.diff(edges) - foreign[edges[:-1]] + more
    mixed = size > 1
    live = np.repeat(mixed, np.diff(edges)) & ~foreign
    normals = mixed & more
    owner = np.concatenate([np.flatnonzero(normals), np.repeat(np.arange(len(size)), np.diff(edges))[live]])
    order = np.argsort(owner, kind="stable")
    return (
        view[mixed], of[mixed], size[mixed], np.concatenate([normal[normals], kind[live]])[order],
        whole[mixed], np.concatenate([rest[normals], key[live]])[order],
    )


def _masses(views: _Views, places: _Places, patterns: PatternTable, view: Ints, of: Ints, kind: Ints) -> Matrix:
    """The members of parts, given by their view, class and kind (-1: all in the class that can be seen)."""
    from scipy.sparse import csr_array

    size = places.first[of + 1] - places.first[of]
    members, counts = [np.zeros(0, dtype=np.int32)], [np.zeros(1, dtype=np.int64)]
    for begin, end in chunks(size):
        member, part = spans(places.first[of[begin:end]], size[begin:end])
        part += begin
        place = places.member[member]
        has = views.kinds[views.start[view[part]] + patterns.at(views.column[view[part]], place)]
        belongs = np.where(kind[part] < 0, has >= 0, has == kind[part])
        members.append(place[belongs].astype(np.int32))
        counts.append(np.bincount(part[belongs] - begin, minlength=end - begin))
    indices = np.concatenate(members)
    starts = np.cumsum(np.concatenate(counts)).astype(np.int32)
    return csr_array((np.ones(len(indices)), indices, starts), shape=(len(size), len(places.of)))
