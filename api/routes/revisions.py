"""A tenant's own graphs: their revisions, and figures laid over a graph that others keep."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Body, Path, Query, Request, Response
from sqlalchemy import Connection
from starlette.concurrency import run_in_threadpool

from api.answering import answer, require_match
from api.bodies import BodyRoute
from api.catalog import Own
from api.changes import Effect, Work, carried_out
from api.clock import written
from api.database import take_turn
from api.documented import ETAG, IDEMPOTENCY_KEY, IF_MATCH, LOCATION, REPEATABLE, headers, needs, refusals
from api.models import Canonical
from api.problems import Refusal, refusal_of
from api.registry import unknown_equipment
from api.routes.equipment import EquipmentId, counts
from api.service import Service, caller_of, service_of
from api.storage import graphs
from api.storage.graphs import Overlay
from graph.errors import HalfsplitError
from graph.hypotheses import MOST_HYPOTHESES
from schemas.document import Document
from schemas.overlays import OverlayGiven, check, missing
from schemas.published import (
    OverlayAnswer,
    PublishAnswer,
    PublishQuery,
    RevisionLine,
    RevisionPage,
    RevisionsQuery,
)

router = APIRouter(prefix="/v1/equipment/{equipment_id}", tags=["graph revisions"], route_class=BodyRoute)
Number = Annotated[int, Path(ge=1, le=1_000_000, description="number of the revision")]
_FIRST = {
    "name": "If-None-Match", "in": "header", "required": False, "schema": {"type": "string", "const": "*"},
    "description": "there must be none of it yet; instead of If-Match",
}
_PUBLISHES = needs("equipment:publish", IF_MATCH, _FIRST, IDEMPOTENCY_KEY)


@router.post(
    "/revisions", operation_id="publishRevision", status_code=201, response_model=PublishAnswer,
    summary="Publish a revision of a graph",
    description=(
        "Checks a graph document and makes it the newest revision of its equipment, for your tenant alone: new cases "
        "rest on it, open ones keep theirs. A revision never changes. Send the ETag of the equipment's document as "
        "`If-Match`, or `If-None-Match: *` where there is none yet. With `dry_run` nothing is stored."
    ),
    responses={
        **refusals("equipment-mismatch", "graph-not-usable", "graph-too-large", "precondition-required",
                   "revision-changed", *REPEATABLE, body=True),
        200: {"description": "It could be published (`dry_run`).", **headers(ETAG),
              "content": {"application/json": {"schema": {"$ref": "#/components/schemas/PublishAnswer"}}}},
        201: headers(ETAG, LOCATION),
    },
    openapi_extra=_PUBLISHES,
)
async def publish_revision(
    request: Request, equipment_id: EquipmentId, query: Annotated[PublishQuery, Query()],
    body: Annotated[Document, Body()],
) -> Response:
    """Make a document the newest revision."""
    service, caller = service_of(request), caller_of(request)
    if body.equipment.id != equipment_id:
        said = f"the document is of {body.equipment.id!r}, the address of {equipment_id!r}"
        raise Refusal("equipment-mismatch", said)
    canonical = Canonical.of(body)

    async def prepare() -> Work:
        try:
            kept = await run_in_threadpool(service.models.compiled, canonical, MOST_HYPOTHESES)
        except HalfsplitError as error:
            raise refusal_of(error) from None
        held = counts(kept.model.equipment)

        def work(db: Connection) -> Effect:
            take_turn(db, f"equipment {caller.tenant} {equipment_id}")
            own = service.catalog.head(db, caller.tenant, equipment_id)
            newest = _newest(service, own, equipment_id)
            _hold(request, None if newest is None else f'"{newest[1]}"')
            now, last = written(service.clock()), 0 if newest is None else newest[0]
            if query.dry_run:
                line = RevisionLine(equipment_id, last + 1, canonical.digest, query.note, now)
                return Effect("revision.tried", equipment_id, PublishAnswer(False, line, held), 200,
                              {"etag": f'"{canonical.digest}"'})
            line = graphs.publish(db, caller.tenant, equipment_id, canonical, now, query.note, last)
            return Effect(
                "equipment.published", f"/v1/equipment/{equipment_id}", PublishAnswer(True, line, held), 201,
                {"location": f"/v1/equipment/{equipment_id}/revisions/{line.revision}", "etag": f'"{line.digest}"'},
                {"equipment": equipment_id, "revision": line.revision, "digest": line.digest},
            )

        return work

    response = await carried_out(request, prepare)
    if not query.dry_run:
        await service.catalog.published(caller.tenant)
    return response


@router.get(
    "/revisions", operation_id="listRevisions", response_model=RevisionPage, summary="List your revisions of a graph",
    description="Those that your tenant published, newest first, a page at a time.",
    responses={**refusals("unknown-equipment", parameters=True)}, openapi_extra=needs("equipment:read"),
)
async def list_revisions(
    request: Request, equipment_id: EquipmentId, query: Annotated[RevisionsQuery, Query()]
) -> Response:
    """One page of revisions."""
    service, caller = service_of(request), caller_of(request)
    await service.stocked(caller, equipment_id)
    before = query.cursor or 2**31 - 1
    found = await service.read(
        lambda db: graphs.revisions(db, caller.tenant, equipment_id, before, query.limit + 1)
    )
    lines = tuple(found[:query.limit])
    return answer(RevisionPage(lines, lines[-1].revision if len(found) > query.limit else None))


@router.get(
    "/revisions/{number}", operation_id="readRevision", response_model=Document, summary="Read one of your revisions",
    description="The document as it was published.",
    responses={**refusals("unknown-revision", parameters=True), 200: headers(ETAG)},
    openapi_extra=needs("equipment:read"),
)
async def read_revision(request: Request, equipment_id: EquipmentId, number: Number) -> Response:
    """One revision's document."""
    tenant = caller_of(request).tenant

    def read(db: Connection) -> Canonical:
        line = graphs.revision(db, tenant, equipment_id, number)
        if line is None:
            raise Refusal("unknown-revision", f"you published no revision {number} of {equipment_id!r}")
        return graphs.document(db, line.digest)

    canonical = await service_of(request).read(read)
    return Response(canonical.text, 200, {"etag": f'"{canonical.digest}"'}, "application/json")


@router.get(
    "/overlay", operation_id="readOverlay", response_model=OverlayAnswer, summary="Read your own rates and prices",
    description="The figures that are laid over the newest revision for your tenant; empty where none were ever set.",
    responses={**refusals("unknown-equipment", parameters=True), 200: headers(ETAG)},
    openapi_extra=needs("equipment:read"),
)
async def read_overlay(request: Request, equipment_id: EquipmentId) -> Response:
    """The overlay that counts."""
    service, caller = service_of(request), caller_of(request)
    stocked = await service.stocked(caller, equipment_id)
    own = await service.read(lambda db: service.catalog.head(db, caller.tenant, equipment_id))
    overlay = own.overlay or Overlay(equipment_id, 0, OverlayGiven(), "")
    unused = missing(overlay.given, stocked.canonical.data())
    record = OverlayAnswer(
        equipment_id, overlay.number, overlay.given.calls_per_thousand, overlay.given.prices, unused
    )
    return answer(record, headers={"etag": f'"{overlay.number}"'})


@router.put(
    "/overlay", operation_id="setOverlay", response_model=OverlayAnswer, summary="Set your own rates and prices",
    description=(
        "Replaces how often failure modes come up in your calls and what parts cost you, without a graph of your own: "
        "they are laid over the newest revision, now and when the graph is revised. New cases rest on them, open ones "
        "keep theirs. `If-Match` is needed: the ETag of the overlay you read, or `*`."
    ),
    responses={
        **refusals("unknown-equipment", "unknown-name", "graph-not-usable", "precondition-required", "revision-changed",
                   body=True),
        200: headers(ETAG),
    },
    openapi_extra=needs("equipment:publish", {**IF_MATCH, "required": True}),
)
async def set_overlay(request: Request, equipment_id: EquipmentId, body: Annotated[OverlayGiven, Body()]) -> Response:
    """Lay figures over a graph."""
    service, caller = service_of(request), caller_of(request)

    async def prepare() -> Work:
        stocked = await service.stocked(caller, equipment_id)
        check(body, stocked.canonical.data())
        own = await service.read(lambda db: service.catalog.head(db, caller.tenant, equipment_id))
        await run_in_threadpool(_tried, service, equipment_id, body, own)

        def work(db: Connection) -> Effect:
            take_turn(db, f"equipment {caller.tenant} {equipment_id}")
            before = service.catalog.head(db, caller.tenant, equipment_id).overlay
            last = 0 if before is None else before.number
            require_match(request, f'"{last}"', "revision-changed", always=True)
            new = Overlay(equipment_id, last + 1, body, written(service.clock()))
            graphs.set_overlay(db, caller.tenant, new)
            record = OverlayAnswer(equipment_id, new.number, body.calls_per_thousand, body.prices, ())
            return Effect("overlay.set", f"/v1/equipment/{equipment_id}/overlay", record, 200,
                          {"etag": f'"{new.number}"'}, {"equipment": equipment_id, "overlay": new.number})

        return work

    response = await carried_out(request, prepare)
    await service.catalog.published(caller.tenant)
    return response


def _newest(service: Service, own: Own, equipment: str) -> tuple[int, str] | None:
    """Number and digest of the newest revision that the tenant sees."""
    if own.line is not None:
        return own.line.revision, own.line.digest
    shared = service.registry.families.get(equipment)
    return None if shared is None else (shared.stamp.revision or 0, shared.stamp.digest)


def _hold(request: Request, tag: str | None) -> None:
    """Hold a publication to what it says that it follows. Raises Refusal revision-changed, precondition-required."""
    first = request.headers.get("if-none-match")
    if tag is None and request.headers.get("if-match") is not None:
        raise Refusal("revision-changed", "there is no revision yet; send If-None-Match: *")
    if tag is None or first is None:
        require_match(request, tag or "none", "revision-changed", always=first != "*")
    else:
        raise Refusal("revision-changed", f"there is a revision already, {tag}")


def _tried(service: Service, equipment: str, given: OverlayGiven, own: Own) -> None:
    """Lay figures over the graph as it is, to see that they can be used. Raises Refusal."""
    tried = Own(own.line, Overlay(equipment, 0, given, ""))
    try:
        if service.catalog.built(equipment, tried) is None:
            raise unknown_equipment(equipment, service.registry.families, "")
    except HalfsplitError as error:
        raise refusal_of(error) from None
