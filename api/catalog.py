"""The equipment as each tenant sees it: what everybody sees, what the tenant published, its own rates and prices.

Which revisions a tenant has is asked of the database once in a while. A change made through this process is seen at
once by it; where there may be others, behind PostgreSQL, it is acknowledged when none of them can remember what was
before. So whatever was acknowledged is seen by all, and reading costs nothing.
"""

from __future__ import annotations

import asyncio
import time
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from sqlalchemy import Connection
from starlette.concurrency import run_in_threadpool

from api.database import Database
from api.models import Canonical, Models
from api.registry import Registry, Stocked, unknown_equipment
from api.storage import graphs
from api.storage.graphs import Overlay
from graph.hypotheses import MOST_HYPOTHESES
from schemas.answers import GraphStamp
from schemas.overlays import laid_over
from schemas.published import RevisionLine

_MOST_VIEWS = 1000
REMEMBERED = 1.0
"""Seconds for which a process remembers what a tenant has; a publication behind PostgreSQL takes so much longer."""


@dataclass(slots=True)
class Own:
    """What a tenant has of one equipment besides, or instead of, what everybody sees. `stamp` once it was built."""

    line: RevisionLine | None = None
    overlay: Overlay | None = None
    stamp: GraphStamp | None = None


View = Mapping[str, Own]


class Catalog:
    """Equipment by tenant and id."""

    def __init__(
        self, database: Database, models: Models, shared: Registry, seconds: float = REMEMBERED,
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        self._database = database
        self._models = models
        self._seconds = seconds
        self._monotonic = monotonic
        self._views: OrderedDict[str, tuple[float, View]] = OrderedDict()
        self._forgotten = 0
        self.shared = shared

    async def of(self, tenant: str, name: str, pointer: str = "") -> Stocked:
        """The family with this id. Raises Refusal unknown-equipment."""
        view = await self._view(tenant)
        if name in view:
            return await self._own(name, view[name])
        if name not in self.shared.families:
            raise unknown_equipment(name, self._names(view), pointer)
        return self.shared.families[name]

    async def every(self, tenant: str) -> list[Stocked]:
        """All families, by id."""
        view = await self._view(tenant)
        return [await self.of(tenant, name) for name in sorted(self._names(view))]

    async def document(self, tenant: str, name: str) -> tuple[GraphStamp, Canonical]:
        """The newest revision of a document, without what is laid over it. Raises Refusal unknown-equipment."""
        view = await self._view(tenant)
        base = await run_in_threadpool(self._base, name, view.get(name, Own()))
        if base is None:
            raise unknown_equipment(name, self._names(view), "")
        return base

    async def published(self, tenant: str) -> None:
        """Forget what a tenant had before it published something; returns when no process remembers it."""
        self._views.pop(tenant, None)
        self._forgotten += 1
        if not self._database.embedded:
            await asyncio.sleep(self._seconds)

    def head(self, db: Connection, tenant: str, name: str) -> Own:
        """What the tenant has of an equipment, read now and not remembered."""
        return _read(db, tenant).get(name, Own())

    def built(self, name: str, own: Own) -> Stocked | None:
        """The family as what the tenant has of it makes it; None where there is nothing to lay an overlay over.

        Raises DocumentError where the figures laid over it make it useless.
        """
        base = self._base(name, own)
        if base is None:
            return None
        stamp, canonical = base
        if own.overlay is not None:
            canonical = Canonical.of(laid_over(canonical.data(), own.overlay.given))
            stamp = GraphStamp(name, stamp.revision, canonical.digest, own.overlay.number)
        kept = self._models.compiled(canonical, MOST_HYPOTHESES)
        return Stocked(stamp, kept.canonical, kept.model)

    def _base(self, name: str, own: Own) -> tuple[GraphStamp, Canonical] | None:
        line = own.line
        if line is None:
            shared = self.shared.families.get(name)
            return None if shared is None else (shared.stamp, shared.canonical)
        canonical = self._database.read(lambda db: graphs.document(db, line.digest))
        return GraphStamp(name, line.revision, line.digest), canonical

    async def _own(self, name: str, own: Own) -> Stocked:
        if own.stamp is not None:
            kept = self._models.kept(own.stamp.digest)
            if kept is not None:
                return Stocked(own.stamp, kept.canonical, kept.model)
        stocked = await run_in_threadpool(self.built, name, own)
        if stocked is None:
            raise unknown_equipment(name, self.shared.families, "")
        own.stamp = stocked.stamp
        return stocked

    async def _view(self, tenant: str) -> View:
        known, forgotten, now = self._views.get(tenant), self._forgotten, self._monotonic()
        if known is not None and now < known[0]:
            return known[1]
        fresh = await run_in_threadpool(self._database.read, lambda db: _read(db, tenant))
        if known is not None:
            for name, own in fresh.items():
                before = known[1].get(name)
                if before is not None and (before.line, before.overlay) == (own.line, own.overlay):
                    own.stamp = before.stamp
        if forgotten == self._forgotten:  # else it may have been read before what was published meanwhile
            self._views[tenant] = now + self._seconds, fresh  # from before it was read: nothing older is held longer
            self._views.move_to_end(tenant)
            if len(self._views) > _MOST_VIEWS:
                self._views.popitem(last=False)
        return fresh

    def _names(self, view: View) -> set[str]:
        usable = {name for name, own in view.items() if own.line is not None}
        return usable | set(self.shared.families)


def _read(db: Connection, tenant: str) -> View:
    view: dict[str, Own] = {}
    for line in graphs.heads(db, tenant):
        view.setdefault(line.equipment, Own()).line = line
    for overlay in graphs.overlays(db, tenant):
        view.setdefault(overlay.equipment, Own()).overlay = overlay
    return view
