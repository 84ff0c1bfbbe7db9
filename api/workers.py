"""Several processes that answer at one address, behind one PostgreSQL.

The process that was started listens and watches: a worker that dies is replaced by another. It has read the equipment
and migrated the database before, so what is wrong with either is told once. Workers share nothing but the database.
"""

from __future__ import annotations

import os
import signal
from functools import partial
from multiprocessing import parent_process
from threading import Thread

from fastapi import FastAPI
from uvicorn import Config
from uvicorn.supervisors import Multiprocess

from api.app import create_app
from api.run import UVICORN, prepared
from api.settings import Settings

PATIENCE = 60
"""Seconds in which a worker has to show that it lives; a solver may keep one busy for some."""


def serve_together(settings: Settings, *, log: bool) -> None:
    """Serve with `settings.workers` processes until interrupted."""
    config = Config(
        partial(_worker, settings, log=log), factory=True, workers=settings.workers, host=settings.host.strip("[]"),
        port=settings.port, timeout_worker_healthcheck=PATIENCE, **UVICORN,
    )
    with config.bind_socket() as listener:
        Multiprocess(config, [listener]).run()


def _worker(settings: Settings, *, log: bool) -> FastAPI:
    """The application of one worker."""
    Thread(target=_end_with_the_first, name="first-process", daemon=True).start()
    return prepared(create_app(settings), log=log)


def _end_with_the_first() -> None:
    """Stop this worker once the process that listens is gone: the next one could not take its address otherwise."""
    first = parent_process()
    if first is not None:
        first.join()
        os.kill(os.getpid(), signal.SIGTERM)
