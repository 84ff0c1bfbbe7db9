"""What callers send about kits: one job's, and a day's for one van."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Discriminator, Field, Tag

from graph.equipment import Licence
from schemas.document import Document
from schemas.requests import CaseName, Context, EconomicsGiven, Findings, Quantity, Times, Words, graph_kind
from schemas.text import EquipmentName, Given, Integral, Money, Name, Shape

Size = Annotated[float, Field(ge=0, le=1_000_000)]
Days = Annotated[float, Field(ge=0, le=10_000)]


class KitAsked(Given):
    """How a kit is chosen, and what is worked out besides."""

    aim: Annotated[
        Literal["money", "chance"],
        Field(description="least money (carrying, and the trip where the kit is incomplete), or the best chance"),
    ] = "money"
    budget: Annotated[Money | None, Field(description="most that the parts may cost")] = None
    volume_litres: Annotated[Size | None, Field(description="most room they may take")] = None
    weight_kg: Annotated[Size | None, Field(description="most they may weigh")] = None
    count: Annotated[int | None, Field(ge=0, le=1000, description="most pieces"), Integral] = None


class KitWork(KitAsked):
    """What is worked out besides the kit itself, and in which form it is returned."""

    questions: Annotated[
        int, Field(ge=0, le=10, description="questions to ask before driving; working them out takes half a second"),
        Integral,
    ] = 3
    minutes: Annotated[bool, Field(description="how long the visit is likely to take")] = True
    frontier: Annotated[bool, Field(description="money against the chance to finish; takes a second")] = False
    form: Annotated[
        Literal["json", "svg"], Field(description="the answer, or a plot of money against the chance to finish")
    ] = "json"


class KitWanted(Shape, KitWork):
    """A kit from what can be had."""

    stock: Annotated[
        dict[Name, Times],
        Field(max_length=1000, description="pieces of a part that can be had; of parts not named, as many as wanted"),
    ] = {}
    lead_days: Annotated[
        dict[Name, Days], Field(max_length=1000, description="days until more of a part is there")
    ] = {}
    must_bring: Annotated[
        dict[Name, Quantity], Field(max_length=1000, description="pieces to bring whatever they are worth")
    ] = {}


class KitForEquipment(Context, KitWanted):
    """The kit for a machine that the service knows."""

    equipment: EquipmentName
    findings: Findings = []


class KitForDocument(Context, KitWanted):
    """The kit for a machine whose graph comes with the request."""

    document: Document
    findings: Findings = []


KitRequest = Annotated[
    Annotated[KitForEquipment, Tag("(equipment)")] | Annotated[KitForDocument, Tag("(document)")],
    Discriminator(graph_kind),
]
"""Exactly one of `equipment` and `document`."""


class JobOfCase(Shape):
    """A job of the day that is a case here."""

    case: CaseName


class JobOfEquipment(Shape):
    """A job of the day that is told in full."""

    equipment: EquipmentName
    findings: Findings = []
    conditions: Annotated[dict[Name, Name], Field(max_length=100, description="condition: its state")] = {}


def _job_kind(value: object) -> str:
    held = isinstance(value, JobOfCase) or (isinstance(value, dict) and "case" in value)
    return "(case)" if held else "(equipment)"


Job = Annotated[
    Annotated[JobOfCase, Tag("(case)")] | Annotated[JobOfEquipment, Tag("(equipment)")], Discriminator(_job_kind),
]
Numbered = Annotated[dict[Words, Times], Field(max_length=1000)]
"""Pieces by part number: the jobs of a day may be of different machines."""


class VanLoadRequest(Shape, KitAsked):
    """A day's jobs, in the order of driving, for one van and one technician."""

    jobs: Annotated[list[Job], Field(min_length=1, max_length=20, description="in the order of driving")]
    licences: Annotated[list[Licence], Field(max_length=10, description="licences that the technician holds")] = []
    economics: EconomicsGiven = EconomicsGiven()
    aboard: Annotated[Numbered, Field(description="part number: pieces that lie on the van already")] = {}
    stock: Annotated[Numbered, Field(description="part number: pieces that can be had")] = {}
    must_bring: Annotated[Numbered, Field(description="part number: pieces to bring whatever they are worth")] = {}
