"""The application: settings in, a FastAPI app out, ready when this returns."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import timedelta
from typing import Any

from fastapi import FastAPI
from starlette.concurrency import run_in_threadpool
from starlette.types import ASGIApp

from api import refusing
from api.access import Doorkeeper
from api.answered import Answered
from api.catalog import Catalog
from api.changes import telling
from api.clock import Clock, utc_now, written
from api.database import Database, open_database, upgrade
from api.exchange import Exchanges
from api.identity import Names, case_names
from api.limits import Limits
from api.measures import Measures
from api.model_tools.endpoint import ModelTools
from api.models import Models
from api.registry import Registry, documents, load
from api.remembered import Remembered
from api.routes import (
    advice,
    case_answers,
    cases,
    checks,
    closeouts,
    equipment,
    events,
    health,
    kits,
    metrics,
    pages,
    paths,
    personal,
    questions,
    revisions,
    testability,
    words,
)
from api.service import Service
from api.settings import Settings
from api.webhooks.delivering import Deliverer
from api.writing import Writer

ROUTERS = (
    advice.router, cases.router, case_answers.router, personal.router, paths.router, kits.router, words.router,
    questions.router, equipment.router, testability.router, revisions.router, checks.router, closeouts.router,
    closeouts.tables, events.router, health.router, metrics.router, pages.router,
)


class HalfsplitApp(FastAPI):
    """FastAPI with the service's own OpenAPI document, built when it is first asked for."""

    def openapi(self) -> dict[str, Any]:
        """The OpenAPI document."""
        from api.examples import played  # a call is played through for it, which nobody needs at the start
        from api.openapi import build

        if self.openapi_schema is None:
            service: Service = self.state.service
            self.openapi_schema = build(self, played(service, assembled(service)))
        return self.openapi_schema

    def build_middleware_stack(self) -> ASGIApp:
        """Everything, errors included, inside the layer that gives each request its id."""
        service: Service = self.state.service
        return Exchanges(super().build_middleware_stack(), service.measures, service.clock)


def assembled(service: Service) -> HalfsplitApp:
    """The routes and error handlers around a service."""
    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        service.deliverer = Deliverer(
            service.database, service.clock, local=service.settings.local_webhooks,
            keep=timedelta(days=service.settings.event_days), resolve=service.resolve,
        )
        service.deliverer.start()
        yield
        await tools.stop()
        await run_in_threadpool(service.deliverer.stop)
        await run_in_threadpool(service.writer.stop)
        service.database.close()

    app = HalfsplitApp(title="Halfsplit", lifespan=lifespan, docs_url=None, redoc_url=None, redirect_slashes=False)
    app.state.service = service
    tools = ModelTools(app)
    app.router.routes.append(tools.route())
    refusing.install(app)
    for router in ROUTERS:  # as they are: including them makes each route anew, with the schema of its answer
        app.router.routes.extend(router.routes)
    return app


def wired(settings: Settings, database: Database, clock: Clock, names: Names, shared: Registry) -> Service:
    """A service around a database whose schema is the newest."""
    models = Models(settings.model_bytes)
    return Service(
        settings, database, Writer(database, telling(clock, names)), clock, names, models,
        Catalog(database, models, shared), Doorkeeper(database, clock, is_open=settings.open),
        Limits(settings.quota), Measures(), answered=Answered(settings.answer_bytes),
    )


def create_app(
    settings: Settings | None = None, *, clock: Clock = utc_now, names: Names | None = None,
    database: Database | None = None,
) -> FastAPI:
    """Build the service: migrate the database, read the equipment, wire the routes.

    Raises EquipmentNotUsable with every defect of every graph document, ValueError for an open service that
    others can reach.
    """
    settings = settings or Settings()
    if settings.open and not settings.loopback:
        raise ValueError(f"an open service lets anybody in: it can't listen on {settings.host}")
    database = database or open_database(settings.database)
    try:
        upgrade(database)
        texts = list(documents(settings.equipment, settings.packaged))
        with database.writing() as db:
            shared = load(db, texts, written(clock()), Remembered(settings.remember))
    except Exception:
        database.close()
        raise
    return assembled(wired(settings, database, clock, names or case_names(clock), shared))
