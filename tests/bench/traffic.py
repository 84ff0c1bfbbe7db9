"""What a worker carries: advices and stored findings a second, beside an empty route of the same server.

`python -m tests.bench.traffic` prints one run: the most that can be had, and at half of that how late the late ones
are; with `--minutes N` memory is watched over so many minutes under half load. One worker, so that the callers have a
core of their own; SQLite with full synchronisation.
"""

from __future__ import annotations

import argparse
import os
import socket
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict
from multiprocessing import get_context
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import httpx
import orjson
import uvicorn

from api.app import create_app
from api.run import settle
from api.settings import Settings
from tests.bench.empty import add_empty
from tests.bench.load import load, request

MACHINES = ("quillmere-c45", "quillmere-f140", "quillmere-h6", "quillmere-w50")
ASKERS: Sequence[dict[str, Any]] = (
    {"role": "technician", "licences": ["electrical"]}, {"role": "technician"}, {"role": "site_contact"},
)


def _serve(port: Connection, database: str) -> None:
    with socket.create_server(("127.0.0.1", 0)) as listener:
        app = create_app(Settings(database=database, open=True, most_findings=10**6))

        add_empty(app)

        for stocked in app.state.service.registry.families.values():
            assert stocked.model
        settle()
        port.send(listener.getsockname()[1])
        uvicorn.Server(uvicorn.Config(app, log_level="error", access_log=False)).run(sockets=[listener])


@contextmanager
def server(database: str) -> Iterator[tuple[str, int]]:
    """The service with one more route in a process of its own: its address and process id."""
    context = get_context("spawn")
    here, there = context.Pipe()
    process = context.Process(target=_serve, args=(there, database), daemon=True)
    process.start()
    try:
        yield f"http://127.0.0.1:{here.recv()}", process.pid or 0
    finally:
        process.terminate()
        process.join()


def questions(address: str, most: int) -> list[dict[str, Any]]:
    """What callers ask of four machines at first: `most` symptoms of each by every asker, planned as usual."""
    with httpx.Client(base_url=address) as client:
        return [
            {"equipment": name, "findings": [{"about": symptom["id"], "outcome": "present"}], "asker": asker}
            for name in MACHINES
            for symptom in client.get(f"/v1/equipment/{name}/symptoms").json()["symptoms"][:most]
            for asker in ASKERS
        ]


def memory(process: int) -> float:
    """Megabytes that a process holds."""
    text = Path(f"/proc/{process}/statm").read_text(encoding="ascii")
    return int(text.split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6


def measured(seconds: float, minutes: float = 0, symptoms: int = 100) -> dict[str, Any]:
    """One run: each load for some seconds, memory over some minutes, so many symptoms of each machine asked about."""
    with tempfile.TemporaryDirectory(prefix="halfsplit-") as folder, server(f"{folder}/traffic.db") as (address, pid):
        asked = questions(address, symptoms)
        bodies = [orjson.dumps(q) for q in asked]
        fresh = [orjson.dumps({**q, "budget_ms": 0, "unit": {"serial": f"{i}-{q['equipment']}"}})
                 for i, q in enumerate(asked * 40)]
        empty = [request(address, "POST", "/empty", body) for body in bodies]
        advice = [request(address, "POST", "/v1/advice", body) for body in bodies]
        with httpx.Client(base_url=address, timeout=60) as client:
            for question in asked:  # once, so that all are warm
                client.post("/v1/advice", content=orjson.dumps(question), headers={"content-type": "application/json"})
        cases = [httpx.post(f"{address}/v1/cases", json={"equipment": "quillmere-c45"}).headers["location"]
                 for _ in range(400)]
        found = orjson.dumps({"findings": [{"about": "little_ice", "outcome": "present"}]})
        findings = [request(address, "POST", f"{place}/findings", found) for place in cases]
        runs: dict[str, Any] = {"empty": load(address, empty, seconds)}
        runs["advice"] = load(address, advice, seconds)
        runs["advice at half load"] = load(address, advice, seconds, rate=runs["advice"].rate / 2)
        runs["advice never asked before"] = load(
            address, [request(address, "POST", "/v1/advice", body) for body in fresh], seconds)
        runs["findings"] = load(address, findings, seconds, expected=201)
        runs["findings at half load"] = load(address, findings, seconds, rate=runs["findings"].rate / 2, expected=201)
        result: dict[str, Any] = {name: asdict(run) for name, run in runs.items()}
        for name in ("advice", "advice never asked before", "findings"):
            result[f"{name} / empty"] = runs[name].rate / runs["empty"].rate
        if minutes:
            result["megabytes"] = []
            for _ in range(round(minutes)):
                load(address, advice, 50, rate=runs["advice"].rate / 2)
                load(address, findings, 10, rate=runs["findings"].rate / 2, expected=201)
                result["megabytes"].append(round(memory(pid), 1))
        return result


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--seconds", type=float, default=5)
    parser.add_argument("--minutes", type=float, default=0)
    given = parser.parse_args()
    sys.stdout.write(orjson.dumps(measured(given.seconds, given.minutes), option=orjson.OPT_INDENT_2).decode() + "\n")
