"""The testability report: which crews it is about, as text, and the command that prints it."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import cast, get_args

import orjson

from api.exit_status import OK, USAGE
from api.progress import progress
from api.testability_sheet import testability_svg
from graph.compile import CompiledModel, compile_model
from graph.context import Asker
from graph.equipment import Licence
from graph.errors import UnknownName
from graph.testability.answers import CrewTestability, Share, Testability
from graph.testability.report import Crew, crews, rate, whole_percent
from schemas.load import load_text

MOST_CALLS = 5000


def rated(
    model: CompiledModel, calls: int, licences: tuple[str, ...] = (), instruments: tuple[str, ...] = ()
) -> Testability:
    """The report for the usual crews and, where licences or instruments are named, one more.

    Raises UnknownName for a licence or an instrument that there is none of.
    """
    equipment, known = model.equipment, get_args(Licence)
    for kind, names, valid in (("licence", licences, known), ("instrument", instruments, equipment.instruments)):
        for i, name in enumerate(names):
            if name not in valid:
                raise UnknownName(kind, name, valid, pointer=f"/{kind}s/{i}")
    chosen = crews(equipment)
    if licences or instruments:
        held = frozenset(cast(Licence, name) for name in licences)
        chosen += (Crew("As asked", Asker(licences=held, instruments=frozenset(instruments))),)
    return rate(model, chosen, calls)


def testability_command(
    path: Path, calls: int, licences: tuple[str, ...], instruments: tuple[str, ...], svg: Path | None, as_json: bool
) -> int:
    """Print the report on one graph document."""
    if not 0 <= calls <= MOST_CALLS:
        print(f"halfsplit: --calls is {calls}; expected 0 to {MOST_CALLS}", file=sys.stderr)
        return USAGE
    model = compile_model(load_text(path.read_bytes(), str(path)))
    with progress("playing simulated calls for every crew"):
        report = rated(model, calls, licences, instruments)
    title, currency = model.equipment.title, model.equipment.currency
    if svg is not None:
        svg.write_text(testability_svg(report, title, currency), encoding="utf-8")
    if as_json:
        print(orjson.dumps(report, option=orjson.OPT_INDENT_2).decode())
    else:
        print("\n".join(testability_lines(report, title, currency)))
    return OK


def testability_lines(report: Testability, title: str, currency: str) -> Iterator[str]:
    """The report for people."""
    yield f"{title}: {report.failure_modes} failure modes. Shares by rate, by count of modes in brackets."
    for crew in report.crews:
        yield ""
        yield f"{crew.title}: {crew.observations} questions and tests"
        yield f"  detected {_share(crew.detected)}; down to one mode {_share(crew.isolated_to_1)}, " \
              f"two {_share(crew.isolated_to_2)}, three {_share(crew.isolated_to_3)}; " \
              f"to one repair {_share(crew.one_repair)}"
        yield from _cost_lines(crew, currency)
        if crew.unseen:
            yield f"  never seen: {', '.join(crew.unseen)}"
        for group in crew.groups:
            yield f"  - {group.sentence}"


def _cost_lines(crew: CrewTestability, currency: str) -> Iterator[str]:
    if crew.cost is not None:
        c = crew.cost
        yield (
            f"  to a verified repair: {c.tests.mean:.1f} ± {c.tests.within:.1f} tests, {c.minutes.mean:.0f} ± "
            f"{c.minutes.within:.0f} minutes there, {c.money.mean:.0f} ± {c.money.within:.0f} {currency}; "
            f"{whole_percent(c.first_visit)} put right then and there"
        )


def _share(share: Share) -> str:
    return f"{whole_percent(share.by_rate)} ({whole_percent(share.by_count)})"
