"""What callers send: one machine, what was found, who asks; and the changes of a case.

Everything that can be told from the words alone is in these shapes, so that the published schema and
the service refuse the same requests. Whether names exist in a machine's graph is asked later.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Literal

from pydantic import AfterValidator, Discriminator, Field, Tag

from graph.equipment import Licence, Role
from graph.policy.decision import DEFAULT_BUDGET
from schemas.document import Document
from schemas.text import (
    NO_CONTROL,
    Currency,
    EquipmentName,
    Given,
    Integral,
    Minutes,
    ModeName,
    Money,
    Name,
    Prose,
    Shape,
)

Times = Annotated[int, Field(ge=0, le=1000), Integral]
Quantity = Annotated[int, Field(ge=1, le=1000), Integral]
Most = Annotated[int, Field(ge=1, le=20, description="how many tests and repairs to explain; suspects: two more"),
                 Integral]
Budget = Annotated[float, Field(ge=0, le=1000, description=(
    "planning effort in milliseconds of a plain server; 0 scores one step ahead and plans nothing"
))]
Margins = Annotated[bool, Field(description="say how far the leading rates could be wrong; takes several budgets")]
Words = Annotated[str, Field(min_length=1, max_length=200, pattern=NO_CONTROL)]
CaseName = Annotated[str, Field(pattern=r"^[0-7][0-9abcdefghjkmnpqrstvwxyz]{25}$")]
"""A case's id, or a place in the order of cases."""
Label = Annotated[str, Field(pattern=r"^[A-Za-z0-9_.:-]{1,64}$")]
By = Annotated[Words | None, Field(description="who found it, in the caller's own words or numbers")]


def that_exists(value: str) -> str:
    """The time, if there is such a day. Raises ValueError."""
    try:
        datetime.fromisoformat(value).astimezone(UTC)
    except OverflowError:
        raise ValueError("a time within the years 1 to 9999") from None
    return value


Since = Annotated[
    str,
    Field(pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]{1,6})?(Z|[+-][0-9]{2}:[0-9]{2})$",
          json_schema_extra={"format": "date-time"}),
    AfterValidator(that_exists),
]
"""A time with its offset, RFC 3339."""


def _outcome_kind(value: object) -> str:
    return "(series)" if isinstance(value, dict) else "(one)"


OutcomeGiven = Annotated[
    Annotated[Name, Tag("(one)")]
    | Annotated[dict[Name, Times], Field(min_length=1, max_length=20), Tag("(series)")],
    Discriminator(_outcome_kind),
]
"""One outcome, or how often each outcome came up in a series of trials."""


class ReadingGiven(Shape):
    """The number that was read."""

    value: Annotated[float, Field(ge=-1e15, le=1e15)]
    unit: Annotated[str, Field(min_length=1, max_length=32, pattern=NO_CONTROL, description=(
        "UCUM code or the trade's spelling: kOhm, kΩ, Cel, °C, bar{gauge}, psig"
    ))]
    at: Annotated[
        dict[Name, Annotated[float, Field(ge=-1e15, le=1e15)]],
        Field(max_length=20, description="circumstances by the names of the test, in its units, e.g. bath: 2"),
    ] = {}


class FindingGiven(Shape):
    """What one symptom, test or remedy showed: an outcome, or a reading of a test that has one, or both."""

    about: Annotated[Name, Field(description="id of a symptom, test or remedy of this machine")]
    outcome: Annotated[OutcomeGiven | None, Field(description=(
        "an outcome's id, or {outcome: times} for a series; every observation also knows not_done, could_not_tell "
        "and skipped, every remedy runs, still_faulty and done. Beside a reading it is what you made of it; the "
        "reading is believed"
    ))] = None
    note: Annotated[Prose, Field(description="anything worth keeping")] = ""
    reading: Annotated[ReadingGiven | None, Field(
        description="evidence for a test that reads a number; kept with any other finding"
    )] = None
    by: By = None


Findings = Annotated[list[FindingGiven], Field(max_length=200, description="in the order in which they were made")]


class AskerGiven(Shape):
    """Who is in front of the machine."""

    role: Annotated[Role, Field(description="a site contact is offered no work with a hazard")] = "technician"
    licences: Annotated[list[Licence], Field(max_length=10, description="licences held")] = []
    instruments: Annotated[
        Annotated[list[Name], Field(max_length=200)] | None,
        Field(description="what is at hand; null means everything this machine's tests use"),
    ] = None
    parts: Annotated[
        Annotated[dict[Name, Quantity], Field(max_length=1000)] | None,
        Field(description="parts at hand; null means all; without its parts a repair is a return trip"),
    ] = None
    unit_state: Annotated[
        dict[Name, Name],
        Field(max_length=50, description="the unit now, e.g. power: isolated; what is not said follows from findings"),
    ] = {}


class EconomicsGiven(Shape):
    """What time and trips cost, in the machine's currency."""

    labour_per_hour: Annotated[Money | None, Field(description="what an hour of the technician costs")] = None
    return_trip: Annotated[Money | None, Field(description="what coming again costs")] = None
    support_minutes: Annotated[
        Minutes | None, Field(description="what looking into it anew takes when somebody comes again")
    ] = None
    currency: Annotated[Currency | None, Field(description="must be the machine's; ISO 4217")] = None
    picking: Annotated[Money | None, Field(description="what it costs to have one part picked")] = None
    carrying_share: Annotated[
        float | None, Field(ge=0, le=1, description="what having a part out costs, as a share of its price")
    ] = None
    kit_budget: Annotated[Money | None, Field(description="most that the parts brought may cost")] = None


class UnitGiven(Shape):
    """Which machine it is."""

    model: Annotated[Words | None, Field(description="as on its plate")] = None
    serial: Annotated[Words | None, Field(description="as on its plate")] = None
    age_years: Annotated[float | None, Field(ge=0, le=200, description="recorded; not yet reasoned on")] = None


class Context(Shape):
    """What is known besides the findings."""

    conditions: Annotated[dict[Name, Name], Field(max_length=100, description="condition: its state")] = {}
    asker: AskerGiven = AskerGiven()
    economics: EconomicsGiven = EconomicsGiven()
    unit: UnitGiven = UnitGiven()


class AdviceWanted(Given):
    """How much to answer, and how hard to plan."""

    most: Most = 3
    budget_ms: Budget = DEFAULT_BUDGET
    margins: Margins = False


class AdviceForEquipment(Context, AdviceWanted):
    """Advice about a machine that the service knows."""

    equipment: EquipmentName
    findings: Findings = []


class AdviceForDocument(Context, AdviceWanted):
    """Advice about a machine whose graph comes with the request."""

    document: Document
    findings: Findings = []


class PathWanted(Given):
    """How far the tree of a visit goes, and in which form it is returned."""

    depth: Annotated[int, Field(ge=1, le=40, description="steps from the first to the last of one way"), Integral] = 12
    most_steps: Annotated[int, Field(ge=1, le=100, description="steps in all, the likeliest ways first"), Integral] = 40
    least_chance: Annotated[
        float, Field(ge=0, le=1, description="outcomes less likely than this are not followed")
    ] = 0.01
    budget_ms: Annotated[
        float, Field(ge=0, le=200, description="planning effort a step; the first has at least the default")
    ] = 20
    form: Annotated[
        Literal["json", "text", "svg"],
        Field(description="the tree itself, or a service chart to print: plain text, or SVG with a sheet a page"),
    ] = "json"
    paper: Annotated[Literal["A4", "A3"], Field(description="of the SVG chart")] = "A4"


class PathForEquipment(Context, PathWanted):
    """The tree of a visit to a machine that the service knows."""

    equipment: EquipmentName
    findings: Findings = []


class PathForDocument(Context, PathWanted):
    """The tree of a visit to a machine whose graph comes with the request."""

    document: Document
    findings: Findings = []


def graph_kind(value: object) -> str:
    """The branch of a request that names its machine, or brings its graph along."""
    fields = value if isinstance(value, dict) else type(value).model_fields if isinstance(value, Given) else ()
    return "(document)" if "document" in fields else "(equipment)"


AdviceRequest = Annotated[
    Annotated[AdviceForEquipment, Tag("(equipment)")] | Annotated[AdviceForDocument, Tag("(document)")],
    Discriminator(graph_kind),
]
"""Exactly one of `equipment` and `document`."""
PathRequest = Annotated[
    Annotated[PathForEquipment, Tag("(equipment)")] | Annotated[PathForDocument, Tag("(document)")],
    Discriminator(graph_kind),
]
"""The same for the tree of a visit."""


class CaseRequest(Context):
    """A new case."""

    equipment: EquipmentName
    complaint: Annotated[Prose, Field(description="the caller's own words")] = ""
    external_id: Annotated[Words | None, Field(description="the caller's own number for this job")] = None
    metadata: Annotated[
        dict[Label, Annotated[str, Field(max_length=500, pattern=NO_CONTROL)]],
        Field(max_length=50, description="anything of the caller's own, returned as it is"),
    ] = {}
    findings: Findings = []


class FindingsRequest(Shape):
    """Findings to append to a case."""

    findings: Annotated[list[FindingGiven], Field(min_length=1, max_length=200)]


class WithdrawalRequest(Shape):
    """Why a finding no longer counts."""

    reason: Annotated[str, Field(min_length=1, max_length=2000, pattern=NO_CONTROL)]
    by: By = None


def _found_kind(value: object) -> str:
    return "(modes)" if isinstance(value, list) else "(word)"


Found = Annotated[
    Annotated[list[ModeName], Field(min_length=1, max_length=10), Tag("(modes)")]
    | Annotated[Literal["no_fault_found", "unlisted"], Tag("(word)")],
    Discriminator(_found_kind),
]


class ClosureRequest(Shape):
    """What was found and done in the end."""

    found: Annotated[Found, Field(description="failure modes that were present, or no_fault_found, or unlisted")]
    remedies: Annotated[list[Name], Field(max_length=50, description="remedies carried out")] = []
    parts: Annotated[dict[Name, Quantity], Field(max_length=100, description="part: quantity used up")] = {}
    minutes: Annotated[Minutes | None, Field(description="time spent on site")] = None
    note: Annotated[Prose, Field(description="anything worth keeping")] = ""
    by: By = None


class CasesQuery(Given):
    """Which cases to list, and from where."""

    status: Annotated[Literal["open", "closed"] | None, Field(description="only open or only closed cases")] = None
    equipment: Annotated[EquipmentName | None, Field(description="only cases of this equipment")] = None
    external_id: Annotated[Words | None, Field(description="only cases with this number of yours")] = None
    changed_since: Annotated[Since | None, Field(
        description="cases changed at this time or later, in the order of their last change"
    )] = None
    cursor: Annotated[CaseName | None, Field(description="`next` of the page before")] = None
    limit: Annotated[int, Field(ge=1, le=200, description="cases a page")] = 50


class TestabilityWanted(Given):
    """What the testability report holds, and in which form it is returned."""

    calls: Annotated[
        int, Field(ge=0, le=300, description="simulated calls for the cost of a visit; 100 take a few seconds"),
        Integral,
    ] = 0
    licences: Annotated[
        list[Licence], Field(max_length=10, description="with instruments: rate a crew with these licences besides")
    ] = []
    instruments: Annotated[
        list[Name], Field(max_length=200, description="rate a crew with these instruments alone besides")
    ] = []
    form: Annotated[Literal["json", "svg"], Field(description="the report, or a sheet to look at or print")] = "json"
