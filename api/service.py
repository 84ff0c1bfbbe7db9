"""What the routes stand on: one object that holds the database, the models and the equipment."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeVar

from fastapi import Request
from sqlalchemy import Connection
from starlette.concurrency import run_in_threadpool

from api.access import Caller, Doorkeeper
from api.answered import Answered
from api.catalog import Catalog
from api.clock import Clock
from api.database import Database
from api.identity import Names
from api.limits import Limits
from api.measures import Measures
from api.models import Canonical, Models
from api.problems import refusal_of
from api.registry import Registry, Stocked
from api.settings import Settings
from api.storage import cases, graphs
from api.webhooks.addresses import Resolve, resolved
from api.webhooks.delivering import Deliverer
from api.writing import Writer
from graph.compile import CompiledModel
from graph.errors import HalfsplitError
from graph.hypotheses import MOST_HYPOTHESES
from schemas.answers import CaseRecord, GraphStamp
from schemas.document import Document
from schemas.load import written_out

_FORGET_EVERY = 3600.0
_MOST_STAMPS = 20_000
"""Cases of which is remembered what they rest on."""
T = TypeVar("T")


@dataclass(slots=True)
class Service:
    """One running service. `under_way` are the requests with an Idempotency-Key that are being carried out."""

    settings: Settings
    database: Database
    writer: Writer
    clock: Clock
    names: Names
    models: Models
    catalog: Catalog
    doorkeeper: Doorkeeper
    limits: Limits
    measures: Measures
    under_way: set[tuple[str, str, str]] = field(default_factory=set)
    answered: Answered = field(default_factory=lambda: Answered(0))
    deliverer: Deliverer | None = None
    resolve: Resolve = resolved
    _stamps: dict[tuple[str, str], GraphStamp] = field(default_factory=dict)
    _forgot: float = 0.0

    @property
    def registry(self) -> Registry:
        """The equipment that everybody sees."""
        return self.catalog.shared

    async def read(self, work: Callable[[Connection], T]) -> T:
        """What `work` reads from the database, aside, so that others don't wait."""
        return await run_in_threadpool(self.database.read, work)

    async def case(self, caller: Caller, name: str) -> tuple[CaseRecord, CompiledModel]:
        """A case of the caller's and the model it was opened with. Raises Refusal unknown-case."""
        case = await self.read(lambda db: cases.read(db, caller.tenant, name))
        return case, await self.pinned(case.graph)

    async def model_of(self, caller: Caller, name: str) -> CompiledModel:
        """The model that a case was opened with, which never changes. Raises Refusal unknown-case."""
        stamp = self._stamps.get((caller.tenant, name))
        if stamp is None:
            stamp = await self.read(lambda db: cases.stamp(db, caller.tenant, name))
            if len(self._stamps) >= _MOST_STAMPS:
                self._stamps.clear()
            self._stamps[caller.tenant, name] = stamp
        return await self.pinned(stamp)

    async def pinned(self, stamp: GraphStamp) -> CompiledModel:
        """The model of a stored document, from memory or compiled aside."""
        shared = self.registry.by_digest.get(stamp.digest)
        if shared is not None:
            return shared.model if shared.ready else (await run_in_threadpool(_made, shared)).model
        kept = self.models.kept(stamp.digest)
        return kept.model if kept is not None else await run_in_threadpool(self._restored, stamp.digest)

    def _restored(self, digest: str) -> CompiledModel:
        canonical = self.database.read(lambda db: graphs.document(db, digest))
        return self.models.compiled(canonical, MOST_HYPOTHESES).model

    async def stocked(self, caller: Caller, name: str, pointer: str = "") -> Stocked:
        """An equipment as the caller sees it. Raises Refusal unknown-equipment."""
        stocked = await self.catalog.of(caller.tenant, name, pointer)
        return stocked if stocked.ready else await run_in_threadpool(_made, stocked)

    async def inline(self, document: Document) -> tuple[GraphStamp, CompiledModel]:
        """The model of a document sent with a request; compiled aside, so that others don't wait."""
        try:
            if document.modules or document.module_defaults:
                document = await run_in_threadpool(written_out, document)
            canonical = Canonical.of(document)
            kept = self.models.kept(canonical.digest)
            if kept is None:
                kept = await run_in_threadpool(self.models.compiled, canonical, self.settings.inline_hypotheses)
        except HalfsplitError as error:
            raise refusal_of(error, "/document") from None
        return GraphStamp(kept.model.equipment.id, None, canonical.digest), kept.model

    def time_to_forget(self) -> bool:
        """Whether old answers to repeated requests are due to be removed: once an hour."""
        now = time.monotonic()
        due = now - self._forgot > _FORGET_EVERY
        if due:
            self._forgot = now
        return due


def _made(stocked: Stocked) -> Stocked:
    """The same, its model made."""
    assert stocked.model
    return stocked


def service_of(request: Request) -> Service:
    """The service that a request came to."""
    service: Service = request.app.state.service
    return service


def caller_of(request: Request) -> Caller:
    """Who a request comes from."""
    caller: Caller = request.state.caller
    return caller
