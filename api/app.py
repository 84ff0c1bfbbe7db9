"""The application: settings in, a FastAPI app out, ready when this returns."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

from fastapi import FastAPI

from api import refusing
from api.clock import Clock, utc_now
from api.database import open_engine, upgrade
from api.examples import played
from api.identity import Names, case_names
from api.models import Models
from api.openapi import build
from api.registry import documents, load
from api.routes import advice, case_answers, cases, checks, equipment, health, kits, pages, paths, questions, words
from api.service import Service
from api.settings import Settings
from api.store import Store

ROUTERS = (
    advice.router, cases.router, case_answers.router, paths.router, kits.router, words.router,
    questions.router, equipment.router, checks.router, health.router, pages.router,
)


class HalfsplitApp(FastAPI):
    """FastAPI with the service's own OpenAPI document, built when it is first asked for."""

    def openapi(self) -> dict[str, Any]:
        """The OpenAPI document."""
        if self.openapi_schema is None:
            service: Service = self.state.service
            self.openapi_schema = build(self, played(service, assembled(service)))
        return self.openapi_schema


def assembled(service: Service) -> HalfsplitApp:
    """The routes and error handlers around a service."""
    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        yield
        service.store.engine.dispose()

    app = HalfsplitApp(title="Halfsplit", lifespan=lifespan, docs_url=None, redoc_url=None, redirect_slashes=False)
    app.state.service = service
    refusing.install(app)
    for router in ROUTERS:
        app.include_router(router)
    return app


def create_app(settings: Settings | None = None, *, clock: Clock = utc_now, names: Names | None = None) -> FastAPI:
    """Build the service: migrate the database, read the equipment, wire the routes.

    Raises EquipmentNotUsable with every defect of every graph document.
    """
    settings = settings or Settings()
    engine = open_engine(settings.database)
    try:
        upgrade(engine)
        store, models = Store(engine, clock, names or case_names(clock)), Models(settings.most_models)
        registry = load(store, models, documents(settings.equipment, settings.packaged))
    except Exception:
        engine.dispose()
        raise
    return assembled(Service(settings, store, models, registry))
