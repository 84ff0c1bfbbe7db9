"""Services in processes of their own, which may be killed."""

from __future__ import annotations

import http.client
import os
import socket
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from multiprocessing import get_context
from multiprocessing.context import ForkServerProcess

from api.run import serve
from api.settings import Settings
from tests.api.conftest import EQUIPMENT

_CONTEXT = get_context("forkserver")
_CONTEXT.set_forkserver_preload(["api.app", "api.run", "tests.api.conftest", "uvicorn"])


def free_port() -> int:
    """A port that nobody listened on just now."""
    with socket.create_server(("127.0.0.1", 0)) as listener:
        return int(listener.getsockname()[1])


def urn(database: str, port: int, workers: int = 1) -> Settings:
    """An open service for the toy urn; a subscriber may be on this machine."""
    return Settings(database=database, port=port, workers=workers, equipment=(EQUIPMENT,), packaged=False, open=True,
                    local_webhooks=True, quota=10**6)


def started(settings: Settings) -> ForkServerProcess:
    """A process that serves with these settings, soon; it prints nothing."""
    process = _CONTEXT.Process(target=_serve, args=(settings,))
    process.start()
    return process


def command(arguments: Sequence[str]) -> ForkServerProcess:
    """A process that runs a command line of `halfsplit`, as an operator starts it; it prints nothing."""
    process = _CONTEXT.Process(target=_execute, args=(["-m", "api.cli", *arguments],))
    process.start()
    return process


def _execute(arguments: Sequence[str]) -> None:
    _silenced()
    os.execv(sys.executable, [sys.executable, *arguments])


def ready(port: int, lives: Callable[[], bool], seconds: float = 60) -> bool:
    """Wait until a service is ready; False where its process ended before. Raises TimeoutError."""
    deadline = time.monotonic() + seconds
    while lives():
        try:
            with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=10)) as connection:
                connection.request("GET", "/v1/ready")
                if connection.getresponse().status == 200:
                    return True
        except (OSError, http.client.HTTPException):
            pass
        if time.monotonic() > deadline:
            raise TimeoutError(f"nobody answers on port {port}")
        time.sleep(0.005)
    return False


def _serve(settings: Settings) -> None:
    _silenced()
    sys.stdin = None  # a service has no terminal, and what stands for one here can't be handed on to workers
    serve(settings)


def _silenced() -> None:
    """Print nothing from here on, in this process and whatever it becomes."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)


@contextmanager
def running(settings: Settings) -> Iterator[ForkServerProcess]:
    """A service that is ready, and is stopped after the block."""
    process = started(settings)
    try:
        if not ready(settings.port, process.is_alive):
            raise RuntimeError(f"the service ended with {process.exitcode}")
        yield process
    finally:
        process.terminate()
        process.join(30)
        process.kill()
        process.join()
