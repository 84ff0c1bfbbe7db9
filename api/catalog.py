"""The equipment as each tenant sees it: what everybody sees, what the tenant published, its own rates and prices.

Which revisions a tenant has is remembered. A change made through this process is seen at once. PostgreSQL, which may
have other workers, is asked each time whether anything was published since; SQLite, which serves one process, every
few seconds.
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


@dataclass(frozen=True, slots=True)
class Seen:
    """What a tenant had after `published` revisions and overlays; to be looked at again after `until`."""

    published: int
    until: float
    view: View


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
        self._seen: OrderedDict[str, Seen] = OrderedDict()
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

    def forget(self, tenant: str) -> None:
        """Look again which revisions a tenant has."""
        self._seen.pop(tenant, None)
        self._forgotten += 1

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
        known, forgotten = self._seen.get(tenant), self._forgotten
        if known is not None and self._database.embedded and self._monotonic() <= known.until:
            return known.view
        until = self._monotonic() + self._seconds
        seen = await run_in_threadpool(self._database.read, lambda db: _looked(db, tenant, known, until))
        if forgotten == self._forgotten:  # else it may have been read before what was published meanwhile
            self._seen[tenant] = seen
            self._seen.move_to_end(tenant)
            if len(self._seen) > _MOST_VIEWS:
                self._seen.popitem(last=False)
        return seen.view

    def _names(self, view: View) -> set[str]:
        usable = {name for name, own in view.items() if own.line is not None}
        return usable | set(self.shared.families)


def _looked(db: Connection, tenant: str, known: Seen | None, until: float) -> Seen:
    """What a tenant has now; what it has still keeps what was built of it."""
    published = graphs.published(db, tenant)
    if known is not None and known.published == published:
        return Seen(published, until, known.view)
    view = _read(db, tenant)
    for name, own in view.items():
        before = None if known is None else known.view.get(name)
        if before is not None and (before.line, before.overlay) == (own.line, own.overlay):
            own.stamp = before.stamp
    return Seen(published, until, view)


def _read(db: Connection, tenant: str) -> View:
    view: dict[str, Own] = {}
    for line in graphs.heads(db, tenant):
        view.setdefault(line.equipment, Own()).line = line
    for overlay in graphs.overlays(db, tenant):
        view.setdefault(overlay.equipment, Own()).overlay = overlay
    return view
