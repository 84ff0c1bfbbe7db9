"""Events and those who are told of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import Field

from schemas.answers import Moment
from schemas.requests import CaseName, Words
from schemas.text import NO_CONTROL, Given, Integral, Shape

EventType = Literal[
    "halfsplit.case.opened", "halfsplit.case.findings_added", "halfsplit.case.finding_withdrawn",
    "halfsplit.case.context_set", "halfsplit.case.closed", "halfsplit.case.imported", "halfsplit.case.erased",
    "halfsplit.equipment.published", "halfsplit.overlay.set", "halfsplit.webhook.tested",
]
Url = Annotated[str, Field(min_length=9, max_length=2000, pattern=NO_CONTROL, description=(
    "https address that is told of events; it must stand for public addresses only"
))]
Types = Annotated[list[EventType], Field(max_length=20, description="which events; none named means all")]
Metadata = Annotated[dict[Words, Words], Field(max_length=50, description="your own notes, kept as they are")]


class WebhookGiven(Shape):
    """Who is to be told, and of what."""

    url: Url
    types: Types = []
    title: Annotated[str, Field(max_length=200, pattern=NO_CONTROL)] = ""
    metadata: Metadata = {}
    enabled: Annotated[bool, Field(description="false stops deliveries and gives up what was waiting")] = True


class ReplayRequest(Shape):
    """Which events to deliver again."""

    since: Annotated[int, Field(ge=0, le=2**53 - 1, description="place in the feed after which to begin"), Integral]


class EventsQuery(Given):
    """Which part of the feed."""

    after: Annotated[int, Field(ge=0, le=2**31 - 1, description="`next` of the page before; 0 begins")] = 0
    limit: Annotated[int, Field(ge=1, le=200, description="events a page")] = 100


class DeliveriesQuery(Given):
    """Which part of the log."""

    cursor: Annotated[CaseName | None, Field(description="`next` of the page before")] = None
    limit: Annotated[int, Field(ge=1, le=200, description="deliveries a page")] = 50


@dataclass(frozen=True, slots=True)
class EventRecord:
    """What happened (CloudEvents 1.0): `subject` is the address of what it happened to, `sequence` its place."""

    specversion: str
    id: str
    source: str
    type: EventType
    subject: str
    time: Moment
    datacontenttype: str
    sequence: str
    data: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class EventPage:
    """Events, oldest first; `next` is where to go on, now or later."""

    events: tuple[EventRecord, ...]
    next: int


@dataclass(frozen=True, slots=True)
class WebhookRecord:
    """A subscriber. `disabled` is since when it is told nothing, `reason` why."""

    id: str
    url: str
    types: tuple[EventType, ...]
    title: str
    metadata: Mapping[str, str]
    created: Moment
    disabled: Moment | None
    reason: str | None


@dataclass(frozen=True, slots=True)
class NewWebhook:
    """A subscriber and its secret, which is shown this once: keep it to verify signatures (Standard Webhooks)."""

    webhook: WebhookRecord
    secret: str


@dataclass(frozen=True, slots=True)
class WebhookList:
    """All subscribers."""

    webhooks: tuple[WebhookRecord, ...]


@dataclass(frozen=True, slots=True)
class TryLine:
    """One call to a subscriber: its status, null where no answer came, and the beginning of what was said."""

    at: Moment
    status: int | None
    said: str
    milliseconds: int


@dataclass(frozen=True, slots=True)
class DeliveryLine:
    """What became of an event at a subscriber; `due` is when it is tried next."""

    event: str
    type: EventType
    state: Literal["waiting", "delivered", "given_up"]
    due: Moment | None
    tries: tuple[TryLine, ...]


@dataclass(frozen=True, slots=True)
class DeliveryPage:
    """Deliveries, those of the newest events first."""

    deliveries: tuple[DeliveryLine, ...]
    next: str | None


@dataclass(frozen=True, slots=True)
class ReplayAnswer:
    """How many events are delivered again."""

    queued: int
