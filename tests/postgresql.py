"""A PostgreSQL server of the tests' own, without durability, on a socket in a directory of its own."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path

import psycopg
import pytest

REQUIRED = os.environ.get("HALFSPLIT_POSTGRESQL") == "required"
_NUMBERS = count()


def binaries() -> Path | None:
    """Where the newest server's programs are; None where there are none."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda p: float(p.parts[-3]))
    on_path = shutil.which("initdb")
    return found[-1].parent if found else Path(on_path).parent if on_path else None


@contextmanager
def server() -> Iterator[str]:
    """A running server; yields the directory of its socket. Skips, or fails where it is required, without programs."""
    programs = binaries()
    if programs is None:
        said = "no PostgreSQL server programs here (Debian: postgresql)"
        if REQUIRED:
            pytest.fail(said)
        pytest.skip(f"{said}; HALFSPLIT_POSTGRESQL=required makes this a failure")
    with tempfile.TemporaryDirectory(prefix="hs-pg-", dir="/tmp") as folder:
        as_user: list[str] = []
        if os.geteuid() == 0:  # the server refuses to run as root
            shutil.chown(folder, "postgres")
            as_user = ["setpriv", "--reuid=postgres", "--regid=postgres", "--init-groups"]

        def run(program: str, *arguments: str) -> None:
            subprocess.run([*as_user, programs / program, "-D", f"{folder}/data", *arguments], cwd=folder, check=True,
                           stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

        run("initdb", "-U", "postgres", "-A", "trust", "--no-sync", "-E", "UTF8", "--locale=C.UTF-8")
        options = f"-k {folder} -c listen_addresses='' -c fsync=off -c max_connections=200"
        run("pg_ctl", "-w", "-l", f"{folder}/log", "-o", options, "start")
        try:
            yield folder
        finally:
            run("pg_ctl", "-w", "-m", "immediate", "stop")


@contextmanager
def new_database(socket: str) -> Iterator[str]:
    """A database of a test's own; yields its URL."""
    name = f"test_{os.getpid()}_{next(_NUMBERS)}"
    _execute(socket, f"CREATE DATABASE {name}")
    yield f"postgresql://postgres@/{name}?host={socket}"
    _execute(socket, f"DROP DATABASE {name} WITH (FORCE)")


def _execute(socket: str, statement: str) -> None:
    with psycopg.connect(host=socket, user="postgres", dbname="postgres", autocommit=True) as connection:
        connection.execute(statement.encode())
