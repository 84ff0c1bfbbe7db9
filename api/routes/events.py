"""What happened: the feed for those who poll, subscribers for those who are called."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Body, Path, Query, Request, Response
from sqlalchemy import Connection
from starlette.concurrency import run_in_threadpool

from api.answering import answer
from api.bodies import BodyRoute
from api.changes import Effect, Work, carried_out
from api.clock import written
from api.documented import IDEMPOTENCY_KEY, LINK, LOCATION, REPEATABLE, headers, needs, refusals
from api.problems import Refusal
from api.service import Service, caller_of, service_of
from api.storage import events, webhooks
from api.storage.webhooks import Subscriber
from api.webhooks.addresses import Forbidden, target
from schemas.events import (
    DeliveriesQuery,
    DeliveryLine,
    DeliveryPage,
    EventPage,
    EventsQuery,
    NewWebhook,
    ReplayAnswer,
    ReplayRequest,
    TryLine,
    WebhookGiven,
    WebhookList,
    WebhookRecord,
)
from schemas.problems import ProblemItem
from schemas.requests import CaseName

router = APIRouter(prefix="/v1", tags=["events"], route_class=BodyRoute)
WebhookId = Annotated[CaseName, Path(description="id of the webhook")]
MOST_WEBHOOKS = 50
OVERLAP = timedelta(hours=24)
"""How long a secret that was replaced goes on signing beside the new one."""
_MANAGES = needs("webhooks:manage")
_CREATES = needs("webhooks:manage", IDEMPOTENCY_KEY)


@router.get(
    "/events", operation_id="readEvents", response_model=EventPage, summary="Read what happened",
    description=(
        "The feed of events, oldest first. Keep `next` and ask again with it: an event that was read is never followed "
        "by one with a smaller number, so nothing is missed. Events say which case changed, not what a caller said: "
        "read the case for that."
    ),
    responses={**refusals("events-forgotten", parameters=True), 200: headers(LINK)},
    openapi_extra=needs("events:read"),
)
async def read_events(request: Request, query: Annotated[EventsQuery, Query()]) -> Response:
    """One page of the feed."""
    tenant = caller_of(request).tenant

    def work(db: Connection) -> tuple[int, list[dict[str, object]]]:
        return events.first(db, tenant), events.page(db, tenant, query.after, query.limit)

    first, found = await service_of(request).read(work)
    if 0 < query.after < first - 1:
        raise Refusal("events-forgotten", f"the events between {query.after} and {first} are no longer kept")
    following = int(str(found[-1]["sequence"])) if found else query.after
    more = {"link": f"</v1/events?{urlencode({'after': following, 'limit': query.limit})}>; rel=\"next\""}
    return answer({"events": found, "next": following}, headers=more if len(found) == query.limit else None)


@router.post(
    "/webhooks", operation_id="addWebhook", status_code=201, response_model=NewWebhook, summary="Add a webhook",
    description=(
        "Events are sent to the address as they happen, signed after Standard Webhooks with the secret of the answer, "
        "and tried again for three days until the answer is 2xx. Redirects are not followed, an answer 410 disables "
        "the webhook, and private addresses are refused, at each call anew. An event may come twice: its id tells."
    ),
    responses={**refusals("webhook-address", "too-many-webhooks", *REPEATABLE, body=True), 201: headers(LOCATION)},
    openapi_extra=_CREATES,
)
async def add_webhook(request: Request, body: Annotated[WebhookGiven, Body()]) -> Response:
    """Store a subscriber with a secret of its own."""
    from api.webhooks.signing import new_secret  # an HTTP client comes with it

    service, tenant = service_of(request), caller_of(request).tenant

    async def prepare() -> Work:
        await _check_address(service, body.url)

        def work(db: Connection) -> Effect:
            if webhooks.count_to_add(db, tenant) >= MOST_WEBHOOKS:
                raise Refusal("too-many-webhooks", f"there are {MOST_WEBHOOKS} webhooks")
            now, secret = written(service.clock()), new_secret()
            subscriber = _with(Subscriber(
                service.names(), tenant, body.url, (), "", {}, ((secret, None),), now, None, None), body, now)
            webhooks.add(db, subscriber)
            about = {"location": f"/v1/webhooks/{subscriber.id}"}
            return Effect("webhook.added", subscriber.id, NewWebhook(_record(subscriber), secret), 201, about)

        return work

    return await carried_out(request, prepare)


@router.get(
    "/webhooks", operation_id="listWebhooks", response_model=WebhookList, summary="List webhooks",
    description="All webhooks of the key's tenant.", openapi_extra=_MANAGES, responses=refusals(),
)
async def list_webhooks(request: Request) -> Response:
    """Every subscriber."""
    tenant = caller_of(request).tenant
    found = await service_of(request).read(lambda db: webhooks.every(db, tenant))
    return answer(WebhookList(tuple(map(_record, found))))


@router.get(
    "/webhooks/{webhook_id}", operation_id="readWebhook", response_model=WebhookRecord, summary="Read a webhook",
    description="Its address and whether it is told.", openapi_extra=_MANAGES,
    responses=refusals("unknown-webhook", parameters=True),
)
async def read_webhook(request: Request, webhook_id: WebhookId) -> Response:
    """One subscriber."""
    tenant = caller_of(request).tenant
    return answer(_record(await service_of(request).read(lambda db: webhooks.read(db, tenant, webhook_id))))


@router.put(
    "/webhooks/{webhook_id}", operation_id="setWebhook", response_model=WebhookRecord, summary="Change a webhook",
    description="Replaces address, types, title and metadata; `enabled` turns one that was disabled on again.",
    responses=refusals("unknown-webhook", "webhook-address", body=True), openapi_extra=_MANAGES,
)
async def set_webhook(request: Request, webhook_id: WebhookId, body: Annotated[WebhookGiven, Body()]) -> Response:
    """Replace what may change."""
    service, tenant = service_of(request), caller_of(request).tenant

    async def prepare() -> Work:
        await _check_address(service, body.url)

        def work(db: Connection) -> Effect:
            after = _with(webhooks.read(db, tenant, webhook_id, to_change=True), body, written(service.clock()))
            webhooks.change(db, after)
            return Effect("webhook.changed", webhook_id, _record(after))

        return work

    return await carried_out(request, prepare)


@router.delete(
    "/webhooks/{webhook_id}", operation_id="removeWebhook", response_model=WebhookRecord, summary="Remove a webhook",
    description="Nothing more is delivered, and its log is gone. Answers what it was.", openapi_extra=_MANAGES,
    responses=refusals("unknown-webhook", parameters=True),
)
async def remove_webhook(request: Request, webhook_id: WebhookId) -> Response:
    """Forget a subscriber."""
    service, tenant = service_of(request), caller_of(request).tenant
    removed = await service.writer.done(lambda db: webhooks.remove(db, tenant, webhook_id))
    return answer(_record(removed))


@router.post(
    "/webhooks/{webhook_id}/secret", operation_id="rotateWebhookSecret", status_code=201, response_model=NewWebhook,
    summary="Replace a webhook's secret",
    description="For a day events are signed with the old secret too, so that nothing is missed meanwhile.",
    responses=refusals("unknown-webhook", *REPEATABLE, parameters=True), openapi_extra=_CREATES,
)
async def rotate_secret(request: Request, webhook_id: WebhookId) -> Response:
    """A new secret beside the last one."""
    from api.webhooks.signing import new_secret

    service, tenant = service_of(request), caller_of(request).tenant

    async def prepare() -> Work:
        def work(db: Connection) -> Effect:
            before = webhooks.read(db, tenant, webhook_id, to_change=True)
            now, secret = service.clock(), new_secret()
            old = (before.secrets[0][0], written(now + OVERLAP))
            after = replace(before, secrets=((secret, None), old))
            webhooks.change(db, after)
            return Effect("webhook.changed", webhook_id, NewWebhook(_record(after), secret), 201)

        return work

    return await carried_out(request, prepare)


@router.post(
    "/webhooks/{webhook_id}/test", operation_id="testWebhook", status_code=202, response_model=ReplayAnswer,
    summary="Send a webhook a test event",
    description="An event of type halfsplit.webhook.tested is put into the feed and delivered as any other.",
    responses=refusals("unknown-webhook", *REPEATABLE, parameters=True), openapi_extra=_CREATES,
)
async def test_webhook(request: Request, webhook_id: WebhookId) -> Response:
    """Let something happen that means nothing."""
    tenant = caller_of(request).tenant

    async def prepare() -> Work:
        def work(db: Connection) -> Effect:
            webhooks.read(db, tenant, webhook_id)
            return Effect("webhook.tested", f"/v1/webhooks/{webhook_id}", ReplayAnswer(1), 202,
                          told={"webhook": webhook_id})

        return work

    return await carried_out(request, prepare)


@router.post(
    "/webhooks/{webhook_id}/replay", operation_id="replayWebhook", status_code=202, response_model=ReplayAnswer,
    summary="Deliver events again", description="Everything after a place in the feed, whether or not it arrived.",
    responses=refusals("unknown-webhook", *REPEATABLE, body=True), openapi_extra=_CREATES,
)
async def replay_webhook(request: Request, webhook_id: WebhookId, body: Annotated[ReplayRequest, Body()]) -> Response:
    """Queue deliveries anew."""
    service, tenant = service_of(request), caller_of(request).tenant

    async def prepare() -> Work:
        def work(db: Connection) -> Effect:
            subscriber = webhooks.read(db, tenant, webhook_id)
            queued = webhooks.replay(db, subscriber, body.since, written(service.clock()))
            return Effect("webhook.changed", webhook_id, ReplayAnswer(queued), 202)

        return work

    return await carried_out(request, prepare)


@router.get(
    "/webhooks/{webhook_id}/deliveries", operation_id="listDeliveries", response_model=DeliveryPage,
    summary="Read what became of deliveries", description="With every try, its status and what was said.",
    responses={**refusals("unknown-webhook", parameters=True), 200: headers(LINK)}, openapi_extra=_MANAGES,
)
async def list_deliveries(
    request: Request, webhook_id: WebhookId, query: Annotated[DeliveriesQuery, Query()]
) -> Response:
    """One page of the log."""
    tenant = caller_of(request).tenant

    def work(db: Connection) -> list[webhooks.Delivery]:
        webhooks.read(db, tenant, webhook_id)
        return webhooks.deliveries(db, webhook_id, query.cursor, query.limit + 1)

    found = await service_of(request).read(work)
    lines = tuple(
        DeliveryLine(d.event, d.type, d.state, d.due, tuple(TryLine(*one) for one in d.tries))  # type: ignore[arg-type]
        for d in found[:query.limit]
    )
    following = lines[-1].event if len(found) > query.limit else None
    place = f"/v1/webhooks/{webhook_id}/deliveries?{urlencode({'cursor': following, 'limit': query.limit})}"
    return answer(DeliveryPage(lines, following), headers={"link": f'<{place}>; rel="next"'} if following else None)


async def _check_address(service: Service, url: str) -> None:
    """Look at an address before it is stored. Raises Refusal webhook-address."""
    try:
        await run_in_threadpool(target, url, service.settings.local_webhooks, service.resolve)
    except Forbidden as why:
        raise Refusal("webhook-address", str(why), [
            ProblemItem("/url", str(why), "an https address that stands for public addresses only")
        ]) from None


def _with(subscriber: Subscriber, body: WebhookGiven, now: str) -> Subscriber:
    disabled = None if body.enabled else subscriber.disabled or now
    return replace(
        subscriber, url=body.url, types=tuple(body.types), title=body.title, metadata=body.metadata, disabled=disabled,
        reason=None if disabled is None else subscriber.reason or "turned off",
    )


def _record(s: Subscriber) -> WebhookRecord:
    return WebhookRecord(s.id, s.url, s.types, s.title, s.metadata, s.created, s.disabled, s.reason)  # type: ignore[arg-type]
