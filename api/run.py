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

from api.app import create_app
from api.progress import progress
from api.registry import EquipmentNotUsable, Registry
from api.settings import Settings

FIRST_ANSWERS = 3.0
"""Seconds that belong to the first requests, before graphs are compiled that nobody has asked for yet."""


def serve(settings: Settings) -> int:
    """Serve until interrupted; 1 where the equipment can't be used, with every defect on standard error."""
    try:
        with progress("reading the equipment"):
            app = create_app(settings)
    except EquipmentNotUsable as error:
        for defect in error.defects:
            print(defect.sentence(), file=sys.stderr)
        return 1
    settle()
    warming = threading.Timer(FIRST_ANSWERS, warm, (app.state.service.registry,))
    warming.daemon = True
    warming.start()
    where = f"http://{settings.host}:{settings.port}"
    print(f"Halfsplit listens on {where}; the API reference is at {where}/reference", flush=True)
    uvicorn.run(app, host=settings.host, port=settings.port, log_level="warning", server_header=False)
    return 0


def warm(registry: Registry) -> None:
    """Compile what nobody has asked for yet, and keep it out of the collector's way."""
    for stocked in registry.families.values():
        stocked.model  # noqa: B018 (made when it is first asked for)
    gc.freeze()


def settle() -> None:
    """Tell the collector that what was loaded stays, and that answers free what they made by themselves."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 100)


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
