"""The close-out record: what a work-order system takes over when a job is done, and what history is read from.

The words are those of ISO 14224:2016 (collection of maintenance data; terms from memory) as far as they go, so
that records of different origin can be put side by side:

| field | ISO 14224 |
|---|---|
| `problem`, and the symptoms among `findings` | failure mode: the manner in which it was observed |
| `cause` | failure mechanism and cause, with the maintainable item it lies in |
| `activities` | maintenance activity: replace, or repair where no stocked part was used |
| `spare_parts`, `active_minutes` | spare parts; active maintenance time |
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from schemas.requests import By, CaseName, FindingGiven, Found, Quantity, UnitGiven, Words, that_exists
from schemas.text import EquipmentName, Given, Minutes, Name, OptionalTitle, Prose, Shape

Moment = Annotated[
    str,
    Field(pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]{1,6})?Z$",
          json_schema_extra={"format": "date-time"}, description="UTC, RFC 3339: 2026-03-02T08:15:00Z"),
    AfterValidator(that_exists),
]
MOST = 500
"""Records of one import."""


class Activity(Shape):
    """One thing that was done."""

    remedy: Annotated[Name, Field(description="id of a remedy of this machine")]
    activity: Annotated[Literal["replace", "repair"], Field(description=(
        "replace where a stocked part was used, repair where the item was put right as it is"
    ))] = "repair"
    title: OptionalTitle = ""


class SparePart(Shape):
    """A part that was used up."""

    part: Annotated[Name, Field(description="id of a part of this machine")]
    quantity: Quantity = 1
    number: OptionalTitle = ""
    title: OptionalTitle = ""


class Closeout(Shape):
    """One finished job. Titles and numbers are for readers; on the way in only ids count."""

    case: Annotated[CaseName | None, Field(description="id in this service; null for a job from elsewhere")] = None
    external_id: Annotated[Words | None, Field(description="number of the job in the other system")] = None
    equipment: EquipmentName
    equipment_title: OptionalTitle = ""
    unit: UnitGiven = UnitGiven()
    opened: Moment
    closed: Moment
    problem: Annotated[Prose, Field(description="the caller's own words")] = ""
    findings: Annotated[list[FindingGiven], Field(max_length=500, description=(
        "in the order in which they were made, without those that were withdrawn"
    ))] = []
    cause: Annotated[Found, Field(description="failure modes that were present, or no_fault_found, or unlisted")]
    cause_titles: Annotated[list[OptionalTitle], Field(max_length=10)] = []
    activities: Annotated[list[Activity], Field(max_length=50)] = []
    spare_parts: Annotated[list[SparePart], Field(max_length=100)] = []
    active_minutes: Annotated[Minutes | None, Field(description="active maintenance time on site")] = None
    note: Prose = ""
    by: By = None


class CloseoutsGiven(Shape):
    """Finished jobs to take in: all of them, or none."""

    closeouts: Annotated[list[Closeout], Field(min_length=1, max_length=MOST)]


class CloseoutsQuery(Given):
    """Which finished jobs to hand over, and how."""

    equipment: Annotated[EquipmentName | None, Field(description="only jobs on this equipment")] = None
    external_id: Annotated[Words | None, Field(description="only jobs with this number of yours")] = None
    cursor: Annotated[CaseName | None, Field(description="`next` of the page before")] = None
    limit: Annotated[int, Field(ge=1, le=100, description="jobs a page")] = 50
    form: Annotated[Literal["json", "csv"], Field(description="records, or a table with a row a job")] = "json"


class CloseoutQuery(Given):
    """How to hand over one job."""

    form: Annotated[Literal["json", "csv"], Field(description="the record, or a table with one row")] = "json"


@dataclass(frozen=True, slots=True)
class CloseoutPage:
    """Finished jobs, the newest first; `next` is the cursor of the following page, null on the last."""

    closeouts: tuple[Closeout, ...]
    next: str | None


@dataclass(frozen=True, slots=True)
class ImportAnswer:
    """The cases that were made, in the order of the records; `known` are those that were there already."""

    imported: tuple[str, ...]
    known: tuple[str, ...]
