"""What the routes stand on: one object that holds the store, the models and the equipment."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import Request
from starlette.concurrency import run_in_threadpool

from api.models import Canonical, Models
from api.problems import refusal_of
from api.registry import Registry
from api.settings import Settings
from api.store import Store
from graph.compile import CompiledModel
from graph.errors import HalfsplitError
from graph.hypotheses import MOST_HYPOTHESES
from schemas.answers import GraphStamp
from schemas.document import Document
from schemas.load import written_out


@dataclass(frozen=True, slots=True)
class Service:
    """One running service."""

    settings: Settings
    store: Store
    models: Models
    registry: Registry

    def pinned(self, stamp: GraphStamp) -> CompiledModel:
        """The model a case was opened with, from memory or from the stored document."""
        model = self.models.kept(stamp.digest)
        return model or self.models.compiled(self.store.document(stamp.digest), MOST_HYPOTHESES)

    async def inline(self, document: Document) -> tuple[GraphStamp, CompiledModel]:
        """The model of a document sent with a request; compiled aside, so that others don't wait."""
        try:
            if document.modules or document.module_defaults:
                document = await run_in_threadpool(written_out, document)
            canonical = Canonical.of(document)
            model = self.models.kept(canonical.digest)
            if model is None:
                model = await run_in_threadpool(self.models.compiled, canonical, self.settings.inline_hypotheses)
        except HalfsplitError as error:
            raise refusal_of(error, "/document") from None
        return GraphStamp(model.equipment.id, None, canonical.digest), model


def service_of(request: Request) -> Service:
    """The service that a request came to."""
    service: Service = request.app.state.service
    return service
