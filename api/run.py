"""Run the service: for good, or beside the caller for as long as it is needed."""

from __future__ import annotations

import gc
import socket
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import uvicorn
from fastapi import FastAPI

from api.access import DEFAULT_TENANT, make_key
from api.app import create_app
from api.database import embedded
from api.exchange import log_to_standard_error
from api.progress import progress
from api.registry import EquipmentNotUsable, Registry
from api.service import Service
from api.settings import Settings
from api.storage import keys

FIRST_ANSWERS = 3.0
"""Seconds that belong to the first requests, before graphs are compiled that nobody has asked for yet."""
UVICORN: dict[str, Any] = {"log_level": "warning", "server_header": False, "access_log": False}


def serve(settings: Settings, *, log: bool = False) -> int:
    """Serve until interrupted; 1 where the equipment can't be used, with every defect on standard error.

    2 where the settings don't go together, with the reason.
    """
    misfit = _misfit(settings)
    if misfit is not None:
        print(f"halfsplit: {misfit}", file=sys.stderr)
        return 2
    try:
        with progress("reading the equipment"):
            app = create_app(settings)
    except EquipmentNotUsable as error:
        for defect in error.defects:
            print(defect.sentence(), file=sys.stderr)
        return 1
    for line in greeting(settings, app.state.service):
        print(line, flush=True)
    if settings.workers > 1:
        from api.workers import serve_together  # most services have one

        app.state.service.database.close()
        serve_together(settings, log=log)
    else:
        uvicorn.run(prepared(app, log=log), host=settings.host.strip("[]"), port=settings.port, **UVICORN)
    return 0


def _misfit(settings: Settings) -> str | None:
    """Why a service can't be run so; None where it can."""
    if settings.open and not settings.loopback:
        return f"--open lets anybody in, so it can't listen on {settings.host}"
    if settings.workers < 1:
        return f"--workers is {settings.workers}; expected 1 or more"
    if settings.workers > 1 and embedded(settings.database):
        return (
            f"--workers {settings.workers} needs PostgreSQL (--database postgresql://…): SQLite has one writer at a "
            "time, and its writers take turns inside one process"
        )
    return None


def prepared(app: FastAPI, *, log: bool) -> FastAPI:
    """The application, its process made ready to serve it."""
    settle()
    if log:
        log_to_standard_error()
    warming = threading.Timer(FIRST_ANSWERS, warm, (app.state.service.registry,))
    warming.daemon = True
    warming.start()
    return app


def greeting(settings: Settings, service: Service) -> Iterator[str]:
    """What is said at the start; on the loopback address the first key of a new database is made and told."""
    where = f"http://{settings.host}:{settings.port}"
    yield f"Halfsplit listens on {where}; the API reference is at {where}/reference"
    if not settings.loopback:
        yield (
            f"WARNING: other machines can reach {settings.host}. Keys and answers travel in the clear: put a proxy "
            "with TLS in front."
        )
    if settings.open:
        yield "It is open: whoever can reach this address may do everything, without a key."
    elif service.database.read(keys.count) == 0:
        if settings.loopback:
            yield f"The first key, for everything of tenant {DEFAULT_TENANT}; it is not shown again:"
            yield make_key(service.database, service.clock, title="the first key").text
        else:
            yield "There is no key yet, so nobody can ask anything. Make one with: halfsplit key create"


def warm(registry: Registry) -> None:
    """Compile what nobody has asked for yet, and keep it out of the collector's way."""
    for stocked in registry.families.values():
        stocked.model  # noqa: B018 (made when it is first asked for)
    gc.collect()
    gc.freeze()


def settle() -> None:
    """Tell the collector that what was loaded stays, and that answers free what they made by themselves."""
    gc.freeze()
    gc.set_threshold(50_000, 20, 100)
    gc.enable()


@contextmanager
def serving(settings: Settings) -> Iterator[str]:
    """A service in a thread of its own; yields its address. Port 0 takes a free one.

    Raises RuntimeError where it doesn't come up in 30 seconds, OSError where the port is taken.
    """
    with socket.create_server((settings.host, settings.port)) as listener:
        config = uvicorn.Config(create_app(settings), log_level="warning", server_header=False)
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        deadline = time.monotonic() + 30
        while not server.started:
            if time.monotonic() > deadline or not thread.is_alive():
                raise RuntimeError("the service did not come up")
            time.sleep(0.01)
        try:
            yield f"http://{settings.host}:{listener.getsockname()[1]}"
        finally:
            server.should_exit = True
            thread.join(timeout=10)
