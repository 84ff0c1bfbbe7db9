"""How long a complete advice takes over HTTP, beside an ordinary route that only reads the same body.

Without a planning budget: with one, the answer takes as long as the budget says.
"""

from __future__ import annotations

import gc
import http.client
import socket
import statistics
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from multiprocessing import get_context
from multiprocessing.connection import Connection
from typing import Any
from urllib.parse import urlsplit

import orjson
import uvicorn
from fastapi import FastAPI

from api.app import create_app
from api.run import settle
from api.settings import Settings
from tests.bench.empty import add_empty

ADVICE: dict[str, Any] = {
    "equipment": "quillmere-c45",
    "findings": [
        {"about": "little_ice", "outcome": "present"},
        {"about": "hollow_cubes", "outcome": "absent"},
        {"about": "look_air_filter", "outcome": "clean"},
    ],
    "asker": {"role": "technician", "licences": ["electrical"]},
    "budget_ms": 0,
}


def _app() -> FastAPI:
    app = create_app(Settings(database=":memory:", open=True))
    add_empty(app)
    return app


def _serve(port: Connection) -> None:
    with socket.create_server(("127.0.0.1", 0)) as listener:
        port.send(listener.getsockname()[1])
        app = _app()
        settle()
        uvicorn.Server(uvicorn.Config(app, log_level="error")).run(sockets=[listener])


@contextmanager
def server() -> Iterator[str]:
    """The service with one more route, in a process of its own."""
    context = get_context("spawn")
    here, there = context.Pipe()
    process = context.Process(target=_serve, args=(there,), daemon=True)
    process.start()
    try:
        yield f"http://127.0.0.1:{here.recv()}"
    finally:
        process.terminate()
        process.join()


def latencies(rounds: int = 600) -> dict[str, float]:
    """Median milliseconds of the empty route and of a complete advice, asked in turn, and their ratio."""
    body = orjson.dumps(ADVICE)
    spent: dict[str, list[float]] = {"/empty": [], "/v1/advice": []}
    with server() as address, closing(http.client.HTTPConnection(urlsplit(address).netloc, timeout=60)) as connection:
        gc.disable()
        for turn in range(rounds + 50):
            for path, times in spent.items():
                begun = time.perf_counter()
                connection.request("POST", path, body, {"content-type": "application/json"})
                answer = connection.getresponse()
                answer.read()
                if turn >= 50:
                    times.append(time.perf_counter() - begun)
                assert answer.status == 200
        gc.enable()
    medians = {path: statistics.median(times) * 1000 for path, times in spent.items()}
    return {"empty": medians["/empty"], "advice": medians["/v1/advice"],
            "ratio": medians["/v1/advice"] / medians["/empty"]}


if __name__ == "__main__":
    sys.stdout.write(orjson.dumps(latencies(), option=orjson.OPT_INDENT_2).decode() + "\n")
