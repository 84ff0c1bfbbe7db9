"""Run the service: for good, or beside the caller for as long as it is needed."""

from __future__ import annotations

import gc
import socket
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

import uvicorn

from api.access import DEFAULT_TENANT, make_key
from api.app import create_app
from api.exchange import log_to_standard_error
from api.progress import progress
from api.registry import EquipmentNotUsable, Registry
from api.service import Service
from api.settings import Settings
from api.storage import keys

FIRST_ANSWERS = 3.0
"""Seconds that belong to the first requests, before graphs are compiled that nobody has asked for yet."""


def serve(settings: Settings, *, log: bool = False) -> int:
    """Serve until interrupted; 1 where the equipment can't be used, with every defect on standard error."""
    if settings.open and not settings.loopback:
        print(f"halfsplit: --open lets anybody in, so it can't listen on {settings.host}", file=sys.stderr)
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
    settle()
    if log:
        log_to_standard_error()
    warming = threading.Timer(FIRST_ANSWERS, warm, (app.state.service.registry,))
    warming.daemon = True
    warming.start()
    host = settings.host.strip("[]")
    uvicorn.run(app, host=host, port=settings.port, log_level="warning", server_header=False, access_log=False)
    return 0


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
