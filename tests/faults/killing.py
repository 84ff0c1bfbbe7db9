"""A service, or its database, that is killed under load again and again; what was acknowledged has to be there.

`python -m tests.faults.killing 300` kills a service on SQLite, with `--postgresql` on a PostgreSQL server of its own;
with `--database-itself` the service stays, and that server's processes are killed. One service in ten is `halfsplit
serve` as an operator starts it, with all machines; how long that took to be ready again is told in the end, beside a
process that only imports numpy and FastAPI.
"""

from __future__ import annotations

import argparse
import os
import random
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from multiprocessing.process import BaseProcess
from pathlib import Path
from threading import Event, Timer

import psycopg
from sqlalchemy.engine import make_url

from api.database import embedded
from tests.api.conftest import EQUIPMENT
from tests.faults.kept import verify
from tests.faults.writing import CaseWriter, Publisher, Record, Writer
from tests.postgresql import new_database, server
from tests.processes import command, free_port, ready, running, started, urn

CASES = 3
"""Clients that write cases, beside one that publishes revisions."""
UNDER_LOAD = {"sqlite": 0.4, "postgresql": 1.6}
"""Seconds after the first answer within which the kill comes; a publication behind PostgreSQL takes one."""
AT_THE_START = 5
"""One kill in so many comes at a random moment from the start on, ready or not."""
AS_OPERATED = 10
"""One service in so many is started by its command."""
BARE = "import numpy, fastapi"

Start = Callable[[int], BaseProcess]


def writers(record: Record) -> list[Writer]:
    """The load."""
    return [*(CaseWriter(f"case-{number}", record) for number in range(CASES)), Publisher("revision", record)]


@contextmanager
def load(clients: list[Writer], port: int) -> Iterator[Event]:
    """Clients that write until the event is set or their connections break; their complaints are raised."""
    until = Event()
    with ThreadPoolExecutor(len(clients)) as pool:
        writing = [pool.submit(client.write, port, until) for client in clients]
        try:
            yield until
        finally:
            until.set()
        for one in writing:
            one.result()


def answers(record: Record, number: int, lives: Callable[[], bool] = lambda: True, seconds: float = 60) -> None:
    """Wait until so many changes more were acknowledged, or there is nobody to do so. Raises TimeoutError."""
    wanted, deadline = len(record.acknowledged) + number, time.monotonic() + seconds
    while len(record.acknowledged) < wanted and lives():
        if time.monotonic() > deadline:
            raise TimeoutError("nothing is acknowledged any more")
        time.sleep(0.001)


def service_killed(kills: int, start: Start, database: str, port: int, seed: int = 1) -> Record:
    """Kill a service while it is written to, `kills` times, and start it again each time; `start` is told which."""
    chance, record, span = random.Random(seed), Record(), _span(database)
    clients = writers(record)
    while record.kills < kills:
        begun = time.perf_counter()
        process = start(record.kills)
        early = Timer(chance.uniform(0, 2 * statistics.median([0.5, *record.waits.values()])), process.kill)
        if record.kills % AT_THE_START == AT_THE_START - 1:
            early.start()
        if ready(port, process.is_alive):
            record.waits[record.kills] = time.perf_counter() - begun
            with load(clients, port):
                answers(record, 1, process.is_alive)
                time.sleep(chance.uniform(0, span))
                process.kill()
                process.join()
        early.cancel()
        process.join()
        assert process.exitcode == -signal.SIGKILL, f"it ended by itself, with {process.exitcode}"
        record.kills += 1
    return record


def database_killed(kills: int, database: str, port: int, seed: int = 1) -> Record:
    """Kill one of PostgreSQL's processes, `kills` times: it then ends all others, and recovers what was committed."""
    chance, record, span = random.Random(seed), Record(), _span(database)
    clients = writers(record)
    with load(clients, port):
        while record.kills < kills:
            answers(record, 1)
            time.sleep(chance.uniform(0, span))
            os.kill(chance.choice(_backends(database)), signal.SIGKILL)
            begun = time.perf_counter()
            answers(record, len(clients) + 1)  # so one of them at least was asked for after the kill
            record.waits[record.kills] = time.perf_counter() - begun
            record.kills += 1
    return record


def _span(database: str) -> float:
    return UNDER_LOAD["sqlite" if embedded(database) else "postgresql"]


def _backends(database: str, seconds: float = 60) -> list[int]:
    """The processes that serve the connections to a database, once there are some. Raises TimeoutError."""
    url, deadline = make_url(database), time.monotonic() + seconds
    while time.monotonic() < deadline:
        try:
            with psycopg.connect(host=str(url.query["host"]), user=url.username, dbname=url.database) as connection:
                found = connection.execute(
                    "SELECT pid FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"
                ).fetchall()
        except psycopg.OperationalError:  # it may still recover
            found = []
        if found:
            return [pid for pid, in found]
        time.sleep(0.01)
    raise TimeoutError("nobody is connected to the database")


@contextmanager
def _new(postgresql: bool, folder: str) -> Iterator[str]:
    if postgresql:
        with server() as socket, new_database(socket) as url:
            yield url
    else:
        yield str(Path(folder) / "cases.db")


def main() -> None:
    """The long form."""
    parser = argparse.ArgumentParser(description="Kill a service under load, and look for what it acknowledged.")
    parser.add_argument("kills", type=int)
    parser.add_argument("--postgresql", action="store_true", help="on a PostgreSQL server instead of SQLite")
    parser.add_argument("--database-itself", action="store_true", help="kill that server's processes instead")
    given = parser.parse_args()
    with (
        tempfile.TemporaryDirectory() as folder,
        _new(given.postgresql or given.database_itself, folder) as database,
    ):
        port = free_port()
        if given.database_itself:
            with running(urn(database, port)):
                record = database_killed(given.kills, database, port)
            waits = list(record.waits.values())
        else:
            serve = ["serve", "--open", "--port", str(port), "--database", database, "--equipment", str(EQUIPMENT),
                     "--remember", folder]
            record = service_killed(
                given.kills, lambda n: started(urn(database, port)) if n % AS_OPERATED else command(serve), database,
                port)
            waits = [seconds for number, seconds in record.waits.items() if number and number % AS_OPERATED == 0]
        kept = verify(database, record)
    print(f"{record.kills} kills, {len(record.sent)} changes sent, {len(record.acknowledged)} acknowledged; "
          f"{', '.join(f'{number} {kind}' for kind, number in kept.items())}: all there once")
    print(f"service again after {statistics.median(waits):.2f} s (median), {max(waits):.2f} s (worst of {len(waits)})")
    print(f"a process that does `{BARE}` takes {statistics.median(_bare() for _ in range(9)):.2f} s (median of 9)")


def _bare() -> float:
    begun = time.perf_counter()
    subprocess.run([sys.executable, "-c", BARE], check=True)
    return time.perf_counter() - begun


if __name__ == "__main__":
    main()
