"""The equipment as each tenant sees it: what everybody sees, what the tenant published, its own rates and prices.

Which revisions a tenant has is asked of the database once in a few seconds; a change made through this process is
seen at once, one made through another within that time.
"""

from __future__ import annotations

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
        self, database: Database, models: Models, shared: Registry, seconds: float = 2,
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        self._database = database
        self._models = models
        self._seconds = seconds
        self._monotonic = monotonic
        self._views: OrderedDict[str, tuple[float, View]] = OrderedDict()
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

    def forget(self, tenant: str) -> None:
        """Look again which revisions a tenant has."""
        self._views.pop(tenant, None)

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
        known = self._views.get(tenant)
        if known is None or known[0] < self._monotonic():
            until = self._monotonic() + self._seconds
            fresh = await run_in_threadpool(self._database.read, lambda db: _read(db, tenant))
            if known is not None:
                for name, own in fresh.items():
                    before = known[1].get(name)
                    if before is not None and (before.line, before.overlay) == (own.line, own.overlay):
                        own.stamp = before.stamp
            known = self._views[tenant] = until, fresh
            self._views.move_to_end(tenant)
            if len(self._views) > _MOST_VIEWS:
                self._views.popitem(last=False)
        return known[1]

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
