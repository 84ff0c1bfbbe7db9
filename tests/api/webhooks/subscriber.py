"""A subscriber on loopback for tests: answers as it is told, and keeps what came."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer


@dataclass
class Subscriber:
    """`status`, `said` and `answering` may be changed between calls; `came` are (path, headers, body)."""

    url: str = ""
    status: int = 204
    said: bytes = b""
    answering: dict[str, str] = field(default_factory=dict)
    came: list[tuple[str, dict[str, str], bytes]] = field(default_factory=list)


@contextmanager
def subscribing(status: int = 204, said: bytes = b"", **headers: str) -> Iterator[Subscriber]:
    """A subscriber for as long as the block lasts."""
    subscriber = Subscriber(status=status, said=said, answering={n.replace("_", "-"): v for n, v in headers.items()})

    class Answering(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["content-length"]))
            subscriber.came.append((self.path, {n.lower(): v for n, v in self.headers.items()}, body))
            self.send_response(subscriber.status)
            for name, value in subscriber.answering.items():
                self.send_header(name, value)
            self.end_headers()
            self.wfile.write(subscriber.said)

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Answering)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    subscriber.url = f"http://localhost:{server.server_address[1]}/in?x=1"
    try:
        yield subscriber
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
