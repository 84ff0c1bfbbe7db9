"""What Halfsplit answers about kits. Chances are 0..1, money is in the answer's currency, times are minutes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar, Literal

from graph.records import DOCUMENTED

Why = Literal["aboard", "served", "not_to_be_had", "no_room", "no_licence", "not_worth_it"]


@dataclass(frozen=True)
class KitLine:
    """A part to bring."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    part: str
    number: str
    title: str
    quantity: int
    price: float
    """Of the quantity."""
    consumable: bool
    """Whether the work itself uses it up."""
    chance_needed: float
    """P(the usual repair wants it)."""
    contribution: float
    """What the chance to finish would lose without it."""
    worth: float | None
    """Money that it saves in this kit: the trips it spares, less what carrying it costs; null from a rule of thumb."""
    alternatives: tuple[str, ...]
    sentence: str


@dataclass(frozen=True)
class LeftOut:
    """A part that may be needed and is not in the kit, and why."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    part: str
    number: str
    title: str
    chance_needed: float
    why: Why
    """`served`: what serves instead is in the kit; `no_room`: a limit is in its way; `no_licence`: its repairs are not
    for the asker."""
    would_add: float
    """What the chance to finish would gain with one repair's pieces of it added to this kit."""
    lead_days: float | None
    sentence: str


@dataclass(frozen=True)
class Minutes:
    """Time on site by the likely course of the visit: in 10, 50 and 90 of 100 visits no longer than this."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    in_10: float
    in_50: float
    in_90: float
    mean: float
    sentence: str


@dataclass(frozen=True)
class FrontierPoint:
    """A kit that no other beats in price and chance at once."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    price: float
    chance_to_finish: float
    parts: Mapping[str, int]


@dataclass(frozen=True)
class KitChange:
    """What one answer to a question would do to the kit."""

    outcome: str
    title: str
    chance: float
    bring: Mapping[str, int]
    """The whole kit then."""
    chance_to_finish: float


@dataclass(frozen=True)
class KitQuestion:
    """A question or look by whoever is on site, before the van leaves."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    about: str
    kind: Literal["symptom", "test"]
    title: str
    how: tuple[str, ...]
    minutes: float
    worth: float
    """Money that knowing the answer saves on average: carrying and trips."""
    chance_to_finish: float
    """On average, with the kit that suits the answer."""
    price: float
    """Of the parts in that kit, on average."""
    changes: tuple[KitChange, ...]
    sentence: str


@dataclass(frozen=True)
class Kit:
    """What to bring, and the chance that the job can be finished with it."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    lines: tuple[KitLine, ...]
    price: float
    volume_litres: float
    """Of the pieces whose size is known."""
    weight_kg: float
    chance_to_finish: float
    """A cause outside the graph, or a repair that needs a licence nobody there has, is never counted as finished."""
    chance_without: float
    """The same with nothing loaded."""
    chance_at_most: float
    """The same with every part there is."""
    cost: float | None
    """Money: carrying the kit, and a return trip where it is incomplete; null from a rule of thumb."""
    gap: float | None
    """How much better another kit might be, as a share; 0 is proved best, null is a rule of thumb."""
    limits_cost: float
    """Money lost to limits and to what can't be had."""
    left_out: tuple[LeftOut, ...]
    instruments: tuple[str, ...]
    """What the proposed tests and likely repairs use."""
    licences: Mapping[str, float]
    """Licence: the chance that the repair needs it."""
    minutes: Minutes | None
    """Time on site; null where the visit was not followed."""
    questions: tuple[KitQuestion, ...]
    """What to ask before driving, the most worth first."""
    frontier: tuple[FrontierPoint, ...]
    """Money against the chance to finish, cheapest first; empty unless asked for."""
    sentence: str


@dataclass(frozen=True)
class LoadLine:
    """Pieces of one part on a van for all of its jobs."""

    number: str
    title: str
    quantity: int
    price: float
    worth: float
    """Jobs a day that would not be finished without it, in 1."""
    jobs: tuple[int, ...]
    """The jobs, from 1, that may use it."""
    sentence: str


@dataclass(frozen=True)
class LoadJob:
    """How one job of the day fares with the load."""

    job: int
    """From 1, in the order of driving."""
    equipment: str
    title: str
    chance_to_finish: float
    """As the pieces are really used up, the jobs before it first."""
    chance_alone: float
    """If it had the whole van to itself."""
    sentence: str


@dataclass(frozen=True)
class VanLoad:
    """What to load for a day of jobs with one stock."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    currency: str
    lines: tuple[LoadLine, ...]
    price: float
    volume_litres: float
    weight_kg: float
    jobs: tuple[LoadJob, ...]
    expected_finished: float
    """Jobs finished on average, as pieces are used up in the order of the jobs, wrong tries included."""
    within: float
    """Half the width of its 95 % interval."""
    planned_finished: float
    """What the plan counts on: each piece going to whichever job makes the most of it."""
    without: float
    """Jobs finished on average with nothing loaded."""
    cost: float
    """Money: carrying, and a return trip for each job not finished, as planned."""
    gap: float
    sentence: str
