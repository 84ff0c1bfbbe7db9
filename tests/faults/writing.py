"""Clients that write while the service or its database is killed, and what they sent and heard."""

from __future__ import annotations

import http.client
import time
from abc import ABC, abstractmethod
from contextlib import closing
from dataclasses import dataclass, field
from threading import Event
from typing import Any

import orjson

URN = "/v1/equipment/toy-urn"
FINDINGS = 8
"""Findings of a case before it is closed and another one opened."""
AGAIN = ("/problems/in-flight", "/problems/storage-busy", "/problems/storage-unavailable")
"""What says that the same request may be sent again."""


@dataclass(frozen=True)
class Sent:
    """A request under an idempotency key, which the stored note or number names too."""

    key: str
    path: str
    body: dict[str, Any]
    if_match: str | None = None


@dataclass
class Record:
    """What was sent and what was acknowledged, by idempotency key; seconds without service, by the kill's number."""

    sent: dict[str, Sent] = field(default_factory=dict)
    acknowledged: dict[str, bytes] = field(default_factory=dict)
    waits: dict[int, float] = field(default_factory=dict)
    kills: int = 0


class Writer(ABC):
    """Sends one request after another. What was not acknowledged is sent again, before anything else."""

    def __init__(self, name: str, record: Record) -> None:
        self._name, self._record = name, record
        self._open_end: Sent | None = None
        self._written = 0

    def write(self, port: int, until: Event) -> None:
        """Write until the connection breaks, or `until` is set. Raises AssertionError where a request is refused."""
        try:
            with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=60)) as connection:
                while not until.is_set():
                    self._step(connection)
        except (OSError, http.client.HTTPException):
            return

    def _step(self, connection: http.client.HTTPConnection) -> None:
        if self._open_end is None:
            self._open_end = self.following(f"{self._name}-{self._written}", connection)
            self._record.sent[self._open_end.key] = self._open_end
        sent = self._open_end
        headers = {"content-type": "application/json", "idempotency-key": sent.key}
        if sent.if_match is not None:
            headers["if-match"] = sent.if_match
        connection.request("POST", sent.path, orjson.dumps(sent.body), headers)
        answer = connection.getresponse()
        said = answer.read()
        if answer.status == 201:
            self._record.acknowledged[sent.key] = said
            self._open_end = None
            self._written += 1
            self.heard(sent, orjson.loads(said))
        else:
            assert orjson.loads(said)["type"] in AGAIN, said
            time.sleep(0.02)

    @abstractmethod
    def following(self, key: str, connection: http.client.HTTPConnection) -> Sent:
        """The next request."""

    @abstractmethod
    def heard(self, sent: Sent, answer: Any) -> None:
        """Note what was acknowledged."""


class CaseWriter(Writer):
    """Opens a case, adds findings one by one, closes it, and opens the next."""

    _case = ""
    _findings = 0

    def following(self, key: str, connection: http.client.HTTPConnection) -> Sent:
        if not self._case:
            return Sent(key, "/v1/cases", {"equipment": "toy-urn", "external_id": key})
        if self._findings < FINDINGS:
            finding = {"about": "water_cold", "outcome": "present", "note": key}
            return Sent(key, f"{self._case}/findings", {"findings": [finding]})
        return Sent(key, f"{self._case}/closure", {"found": "unlisted", "note": key})

    def heard(self, sent: Sent, answer: Any) -> None:
        self._case = f"/v1/cases/{answer['id']}" if answer["status"] == "open" else ""
        self._findings = len(answer["findings"])


class Publisher(Writer):
    """Publishes one revision after another, each held to the one before."""

    _tag = ""
    _document: Any = None

    def following(self, key: str, connection: http.client.HTTPConnection) -> Sent:
        if self._document is None:
            connection.request("GET", f"{URN}/document")
            answer = connection.getresponse()
            said = answer.read()
            assert answer.status == 200, said
            self._tag, self._document = answer.headers["etag"], said
        document = orjson.loads(self._document)
        mode = document["components"]["thermostat"]["failure_modes"]["stuck_open"]
        mode["calls_per_thousand"] = 1 + self._written / 1000
        return Sent(key, f"{URN}/revisions?note={key}", document, self._tag)

    def heard(self, sent: Sent, answer: Any) -> None:
        self._tag = f'"{answer["revision"]["digest"]}"'
