"""A service that is killed while it is written to, again and again; what it acknowledged has to be there.

`python -m tests.faults.killing 500` is the long form.
"""

from __future__ import annotations

import http.client
import random
import socket
import sqlite3
import sys
import tempfile
from collections import Counter
from contextlib import closing
from dataclasses import dataclass, field
from multiprocessing import get_context
from multiprocessing.connection import Connection
from pathlib import Path
from threading import Timer

import orjson
import uvicorn

from api.app import create_app
from api.settings import Settings
from tests.api.conftest import EQUIPMENT

_CONTEXT = get_context("forkserver")
_CONTEXT.set_forkserver_preload(["api.app", "tests.api.conftest", "uvicorn"])


@dataclass
class Record:
    """What was sent (to which case) and what was acknowledged, by idempotency key."""

    sent: dict[str, str] = field(default_factory=dict)
    acknowledged: dict[str, bytes] = field(default_factory=dict)
    kills: int = 0


def _serve(database: str, port: Connection) -> None:
    app = create_app(Settings(database=database, equipment=(EQUIPMENT,), packaged=False, open=True))
    with socket.create_server(("127.0.0.1", 0)) as listener:
        port.send(listener.getsockname()[1])
        uvicorn.Server(uvicorn.Config(app, log_level="error")).run(sockets=[listener])


def _post(connection: http.client.HTTPConnection, path: str, key: str, body: object) -> bytes:
    headers = {"content-type": "application/json", "idempotency-key": key}
    connection.request("POST", path, orjson.dumps(body), headers)
    answer = connection.getresponse()
    said = answer.read()
    assert answer.status == 201, said
    return said


def _write(port: int, case: str, record: Record, kill: Timer) -> None:
    """Append findings until the connection breaks; first send again what was not acknowledged."""
    begun = len(record.acknowledged)
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=10)) as connection:
        open_ends = [key for key in list(record.sent)[-2:] if key not in record.acknowledged]
        while True:
            key = open_ends.pop(0) if open_ends else f"key-{len(record.sent)}"
            place = record.sent.setdefault(key, f"/v1/cases/{case}/findings")
            finding = {"about": "water_cold", "outcome": "present", "note": key}
            try:
                record.acknowledged[key] = _post(connection, place, key, {"findings": [finding]})
            except (OSError, http.client.HTTPException):
                return
            if len(record.acknowledged) == begun + 1:
                kill.start()


def killed_again_and_again(kills: int, database: Path, seed: int = 1) -> Record:
    """Kill the service while it is written to, `kills` times; a new case each five times, since a case fills up."""
    chance, record, case = random.Random(seed), Record(), ""
    while record.kills < kills:
        here, there = _CONTEXT.Pipe()
        process = _CONTEXT.Process(target=_serve, args=(str(database), there), daemon=True)
        process.start()
        port = here.recv()
        if record.kills % 5 == 0:
            with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=30)) as connection:
                opened = _post(connection, "/v1/cases", f"case-{record.kills}", {"equipment": "toy-urn"})
                case = str(orjson.loads(opened)["id"])
        kill = Timer(chance.uniform(0, 0.1), process.kill)
        _write(port, case, record, kill)
        kill.join()
        process.join()
        record.kills += 1
    return record


def verify(database: Path, record: Record) -> None:
    """Every acknowledged finding is there once, none twice, and the file is sound."""
    with closing(sqlite3.connect(database)) as db:
        assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert db.execute("PRAGMA foreign_key_check").fetchall() == []
        notes = Counter(orjson.loads(body)["note"] for body, in db.execute("SELECT body FROM finding"))
        answers = {key: bytes(body) for key, body in db.execute("SELECT key, body FROM repeat")}
        versions = db.execute("SELECT version - 1, (SELECT count(*) FROM finding WHERE case_id = id) FROM service_case")
        changed = versions.fetchall()
        assert all(changes == findings for changes, findings in changed)
        events = [number for number, in db.execute("SELECT number FROM event ORDER BY number")]
    assert events == list(range(1, len(changed) + notes.total() + 1)), "an event for each case and finding, none twice"
    assert set(notes.values()) <= {1}, "nothing twice"
    assert set(record.acknowledged) <= set(notes), "everything that was acknowledged"
    assert set(notes) <= set(record.sent)
    assert all(answers[key] == said for key, said in record.acknowledged.items()), "and its answer, to the byte"


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "cases.db"
        found = killed_again_and_again(int(sys.argv[1]), place)
        verify(place, found)
    counts = f"{len(found.sent)} findings sent, {len(found.acknowledged)} acknowledged"
    print(f"{found.kills} kills, {counts}, all there once")
