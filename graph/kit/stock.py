"""What can be carried, what carrying costs, and what limits it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

from graph.context import Economics
from graph.equipment import Equipment
from graph.errors import HalfsplitError

Aim = Literal["money", "chance"]
Room = Literal["budget", "volume_litres", "weight_kg", "count"]
"""What a kit can be short of."""
ROOMS: tuple[Room, ...] = ("budget", "volume_litres", "weight_kg", "count")
_USUAL = Economics()


class KitInfeasible(HalfsplitError):
    """What has to be brought doesn't fit the limits, or can't be had."""

    code = "kit-infeasible"


@dataclass(frozen=True, slots=True)
class Item:
    """Something that can be carried: `key` is what needs name it by, sizes in litres and kilograms where known."""

    key: str
    number: str
    title: str
    price: float
    volume_litres: float | None = None
    weight_kg: float | None = None
    consumable: bool = False
    superseded: bool = False

    def renamed(self, key: str) -> Item:
        """The same item under another key."""
        return replace(self, key=key)

    def takes(self, room: Room) -> float | None:
        """What a piece takes of a limit; None where its size is not known."""
        if room == "budget":
            return self.price
        if room == "count":
            return 1.0
        return self.volume_litres if room == "volume_litres" else self.weight_kg


@dataclass(frozen=True, slots=True)
class Terms:
    """How a kit is chosen.

    `aim` is the least money (carrying, and the trip where the kit is incomplete) or the best chance to finish.
    `trip` is money, `picking` money for each part, `carrying_share` a share of the price of each piece. `limits`
    are (room, most) and count what is loaded; `aboard` (key, pieces) lies on the van and is free; `stock` (key,
    pieces) can be had, a part that it doesn't name without limit; `lead_days` (key, days) until more of it is
    there; `must` (key, pieces) is brought whatever it is worth.
    """

    aim: Aim = "money"
    trip: float = _USUAL.return_trip
    picking: float = _USUAL.picking
    carrying_share: float = _USUAL.carrying_share
    limits: tuple[tuple[Room, float], ...] = ()
    aboard: tuple[tuple[str, int], ...] = ()
    stock: tuple[tuple[str, int], ...] = ()
    lead_days: tuple[tuple[str, float], ...] = ()
    must: tuple[tuple[str, int], ...] = ()

    @classmethod
    def of(cls, economics: Economics) -> Terms:
        """The terms that follow from what time and trips cost."""
        limits: tuple[tuple[Room, float], ...] = ()
        if economics.kit_budget is not None:
            limits = (("budget", economics.kit_budget),)
        return cls("money", economics.return_trip, economics.picking, economics.carrying_share, limits)

    def carrying(self, item: Item, pieces: int) -> float:
        """What having so many pieces out costs, money."""
        return self.picking + self.carrying_share * item.price * pieces if pieces else 0.0

    def can_be_had(self, item: Item) -> float:
        """How many pieces can be loaded: as stocked, none of what is superseded, else without limit.

        Nor any of a part of unknown size where that size is limited.
        """
        if any(item.takes(room) is None for room, _ in self.limits):
            return 0
        return dict(self.stock).get(item.key, 0 if item.superseded else float("inf"))


@lru_cache(maxsize=64)
def items_of(equipment: Equipment) -> tuple[Item, ...]:
    """The parts of one machine by their ids."""
    return tuple(
        Item(p.id, p.number, p.title, p.price, p.volume_litres, p.weight_kg, p.consumable, p.superseded_by is not None)
        for p in equipment.parts.values()
    )
