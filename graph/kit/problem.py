"""The choice of a kit as numbers: what can be loaded, and what jobs need of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from copy import copy
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from math import fsum

import numpy as np

from graph.columns import Matrix, indicator
from graph.hypotheses import Floats
from graph.kit.needs import Need, NeedTable
from graph.kit.stock import Item, Room, Terms
from graph.signals import Bools

NEGLIGIBLE = 1e-9
"""Chance of a need below which no part is brought for it."""

IndexedSlot = tuple[tuple[int, ...], int]
IndexedWay = tuple[IndexedSlot, ...]
IndexedNeed = tuple[IndexedWay, ...]
"""As `graph.kit.needs`, with places among the items instead of keys."""


@dataclass(frozen=True, eq=False)
class KitProblem:
    """Items I, and *shares*: jobs that come up together with a chance and draw on the same pieces.

    `aboard[i]` pieces lie on the van, `most[i]` more can be loaded (infinite where nothing stops it). A share is
    (chance, needs of its jobs); for one case each need is a share of its own. `never` is how many jobs more, on
    average, no kit finishes. `planned` is what is known before of one case's coverage.
    """

    items: tuple[Item, ...]
    aboard: tuple[int, ...]
    most: tuple[float, ...]
    shares: tuple[tuple[float, tuple[IndexedNeed, ...]], ...]
    terms: Terms
    never: float = 0.0
    planned: Coverage | None = None

    @property
    def jobs(self) -> float:
        """The number of jobs."""
        return self.never + sum(chance * len(needs) for chance, needs in self.shares)

    def chances(self, loads: Sequence[Sequence[int]]) -> list[float]:
        """The chance to finish one case with each of several loads."""
        held = np.array(loads, dtype=np.float64).reshape(len(loads), len(self.items)) + self.aboard
        return [float(c) for c in self.coverage.of(held) @ np.array([chance for chance, _ in self.shares])]

    @cached_property
    def coverage(self) -> Coverage:
        """Which of one case's needs a load covers, in the order of the shares."""
        return self.planned or Coverage([need for _, (need,) in self.shares], len(self.items))

    def carrying(self, loaded: Sequence[int]) -> float:
        """What having the loaded pieces out costs, money."""
        return sum(self.terms.carrying(item, n) for item, n in zip(self.items, loaded, strict=True))

    def carrying_each(self, loads: Floats) -> Floats:
        """What each of several loads (B x I) costs to have out, money (B)."""
        return np.asarray(self.terms.picking * (loads > 0).sum(axis=1) + loads @ self._carried)

    @cached_property
    def _carried(self) -> Floats:
        """What a piece of each item costs to have out, its picking left aside (I)."""
        return self.terms.carrying_share * np.array([item.price for item in self.items])

    def used(self, room: Room, loaded: Sequence[int]) -> float:
        """What the loaded pieces take of a limit."""
        return fsum((item.takes(room) or 0.0) * n for item, n in zip(self.items, loaded, strict=True) if n)


class Coverage:
    """Which of N needs are covered by what is held: slots filled, ways whose slots are all filled, any way."""

    def __init__(self, needs: Sequence[IndexedNeed], items: int) -> None:
        slots: dict[IndexedSlot, int] = {}
        in_way: list[tuple[int, int]] = []
        of_need: list[int] = []
        for number, need in enumerate(needs):
            for way in need:
                in_way += [(len(of_need), slots.setdefault(slot, len(slots))) for slot in way]
                of_need.append(number)
        serves = [(s, i) for (keys, _), s in slots.items() for i in keys]
        self.pieces = np.array([[n] for _, n in slots], dtype=np.float64).reshape(-1, 1)
        self.serves = _ones(serves, (len(slots), items))
        self.in_way = _ones(in_way, (len(of_need), len(slots)))
        self.of_need = _ones([(need, way) for way, need in enumerate(of_need)], (len(needs), len(of_need)))
        self.order = np.arange(len(needs))

    def ordered(self, needs: Sequence[int]) -> Coverage:
        """The coverage of some of the needs, in another order."""
        some = copy(self)
        some.order = self.order[list(needs)]
        return some

    def of(self, held: Floats) -> Bools:
        """Covered needs (B x N) with B times what is held of each item (B x I)."""
        lacking = (self.serves @ held.T < self.pieces).astype(np.float64)
        possible = (self.in_way @ lacking == 0).astype(np.float64)
        return np.asarray((self.of_need @ possible > 0)[self.order].T)


def _ones(places: Sequence[tuple[int, int]], shape: tuple[int, int]) -> Matrix:
    at = np.array(places, dtype=np.int64).reshape(-1, 2)
    return indicator([at[:, 0]], [at[:, 1]], None, shape)


def case_problem(table: NeedTable, masses: Floats, items: Sequence[Item], terms: Terms) -> KitProblem:
    """The problem of one case whose needs have these masses.

    What is missing to 1, and needs of next to no chance, are never counted as finished.
    """
    needs, likely = indexed_needs(table, items), likely_needs(masses)
    chances: list[float] = masses[likely].tolist()
    shares = [(chance, (needs[i],)) for i, chance in zip(likely, chances, strict=True)]
    problem = problem_of(items, shares, terms, max(0.0, 1 - sum(chances)))
    return replace(problem, planned=coverage_of(table, items).ordered(likely))


def likely_needs(masses: Floats) -> list[int]:
    """The needs that are planned for, likeliest first."""
    some = np.flatnonzero(masses > NEGLIGIBLE)
    return [int(i) for i in some[np.argsort(-masses[some], kind="stable")].tolist()]


@lru_cache(maxsize=64)
def indexed_needs(table: NeedTable, items: Sequence[Item]) -> tuple[IndexedNeed, ...]:
    """The needs of a table with the places of these items."""
    place = {item.key: i for i, item in enumerate(items)}
    return tuple(indexed(need, place) for need in table.needs)


@lru_cache(maxsize=64)
def coverage_of(table: NeedTable, items: Sequence[Item]) -> Coverage:
    """Which of all needs of a table a load of these items covers."""
    return Coverage(indexed_needs(table, items), len(items))


def problem_of(
    items: Sequence[Item], shares: Iterable[tuple[float, tuple[IndexedNeed, ...]]], terms: Terms, never: float = 0.0
) -> KitProblem:
    """The problem of given shares, with what the terms say is aboard and can be had."""
    aboard = dict(terms.aboard)
    return KitProblem(
        tuple(items), tuple(aboard.get(item.key, 0) for item in items),
        tuple(terms.can_be_had(item) for item in items), tuple(shares), terms, never,
    )


def indexed(need: Need, place: dict[str, int]) -> IndexedNeed:
    """A need with places instead of keys."""
    return tuple(tuple((tuple(place[k] for k in serves), n) for serves, n in way) for way in need)
