from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

from api.webhooks.addresses import target
from api.webhooks.calling import KEPT, Outcome, call


@contextmanager
def subscriber(status: int, said: bytes = b"", **headers: str) -> Iterator[tuple[str, list[tuple[str, bytes, str]]]]:
    """A subscriber on loopback: its address, and what came."""
    came: list[tuple[str, bytes, str]] = []

    class Answering(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["content-length"]))
            came.append((self.path, body, self.headers["host"]))
            self.send_response(status)
            for name, value in headers.items():
                self.send_header(name.replace("_", "-"), value)
            self.end_headers()
            self.wfile.write(said)

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Answering)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    try:
        yield f"http://hooks.example:{server.server_address[1]}/in?x=1", came
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def to(url: str) -> Outcome:
    return call(target(url, True, lambda host, port: ["127.0.0.1"]), b"{}", {"webhook-id": "e"})


def test_the_call_goes_to_the_address_in_the_name_of_the_host() -> None:
    with subscriber(204) as (url, came):
        outcome = to(url)
    assert outcome.delivered and outcome.status == 204
    assert [(path, body, host.partition(":")[0]) for path, body, host in came] == [
        ("/in?x=1", b"{}", "hooks.example")]


def test_a_redirect_is_an_answer_and_not_followed() -> None:
    with subscriber(200) as (elsewhere, missed), subscriber(302, Location=elsewhere) as (url, came):
        outcome = to(url)
    assert (outcome.status, outcome.delivered, len(came), len(missed)) == (302, False, 1, 0)


def test_what_a_subscriber_says_is_kept_in_short() -> None:
    with subscriber(503, b"x" * 10_000, Retry_After="120") as (url, _):
        outcome = to(url)
    assert (outcome.status, len(outcome.said), outcome.retry_after) == (503, KEPT, timedelta(seconds=120))


def test_gone_and_nobody_there() -> None:
    with subscriber(410) as (url, _):
        assert to(url).gone
    outcome = to(url)
    assert outcome.status is None and not outcome.delivered and "Connect" in outcome.said
