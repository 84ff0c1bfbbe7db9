"""The report on known calls: how each machine's graph did on calls whose cause was found."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import orjson

from api.exit_status import DEFECTS, OK
from api.progress import progress
from api.registry import documents
from graph.compile import CompiledModel, compile_model
from graph.errors import DocumentError, UnknownName
from graph.replay import Place, Replay, Tally, replay, tally
from schemas.calls import CallsFile, read_calls
from schemas.load import load_text
from schemas.source import parse


@dataclass(frozen=True, slots=True)
class MachineReport:
    """One machine's known calls."""

    equipment: str
    currency: str
    tally: Tally
    calls: tuple[Replay, ...]


def calls_command(files: Sequence[Path], directories: Sequence[Path], as_json: bool) -> int:
    """Print the report on some files of known calls; 1 where one can't be used, with every defect."""
    read: list[CallsFile] = []
    defects = 0
    for path in files:
        try:
            read.append(read_calls(path.read_bytes(), str(path)))
        except DocumentError as error:
            defects += _told(error)
    reports = []
    for name in dict.fromkeys(f.equipment for f in read):
        try:
            model = machine(name, directories)
            with progress(f"replaying the calls of {name}"):
                reports.append(report(model, [f for f in read if f.equipment == name]))
        except DocumentError as error:
            defects += _told(error)
    if as_json:
        print(orjson.dumps(reports, option=orjson.OPT_INDENT_2).decode())
    else:
        print("\n\n".join("\n".join(report_lines(r)) for r in reports))
    return DEFECTS if defects else OK


def _told(error: DocumentError) -> int:
    for defect in error.defects:
        print(defect.sentence(), file=sys.stderr)
    return len(error.defects)


def report(model: CompiledModel, files: Iterable[CallsFile]) -> MachineReport:
    """All known calls of one machine, replayed. Raises DocumentError for names that it doesn't have."""
    calls = [call for file in files for call in file.known(model)]
    replays = tuple(replay(model, call) for call in calls)
    return MachineReport(model.equipment.id, model.equipment.currency, tally(replays), replays)


def machine(name: str, directories: Sequence[Path]) -> CompiledModel:
    """The machine with this id among the packaged graphs and those of some directories; the others may be broken.

    Raises UnknownName, and DocumentError where this one can't be used.
    """
    known = []
    for file, text in sorted(documents(directories, packaged=True), key=lambda f: Path(f[0]).stem != name):
        data = parse(text, file).data
        head = data.get("equipment") if isinstance(data, dict) else None
        identity = str(head.get("id")) if isinstance(head, dict) else ""
        if identity == name:
            return compile_model(load_text(text, file))
        known.append(identity)
    raise UnknownName("equipment", name, known, pointer="/equipment")


def report_lines(found: MachineReport) -> Iterator[str]:
    """The report for people, the calls that fail last."""
    t = found.tally
    yield f"{found.equipment}: {t.calls} known calls"
    yield f"  truth first in the end                {t.first:7.1%}"
    yield f"  truth in the first ambiguity group    {t.in_first_group:7.1%}"
    yield f"  kit at dispatch could finish the job  {t.could_finish:7.1%}"
    yield (
        f"  of {t.wanting_parts} that want a part: aboard       {t.part_aboard:7.1%}"
        f"   with the five likeliest {t.likeliest_aboard:.1%}"
    )
    yield (
        f"  parts out, {found.currency} a call                {t.kit_price:8.2f}"
        f"   the five likeliest {t.likeliest_price:.2f}"
    )
    if not t.failing:
        yield "  No call fails."
        return
    yield f"  {len(t.failing)} fail:"
    for call in t.failing:
        yield f"  - {call.title} ({', '.join(call.truth)})"
        yield "      rank " + ", ".join(_step(p) for p in call.places)
        if not call.kit.enough and call.wants_part:
            loaded = ", ".join(f"{n} x {part}" for part, n in call.kit.parts) or "nothing"
            yield f"      its part stayed behind; loaded: {loaded} ({call.kit.price:.2f} {found.currency})"


def _step(place: Place) -> str:
    group = "" if place.group_rank == place.rank else f" (group {place.group_rank})"
    about = f"{place.about} {place.said}: " if place.about else "at first "
    return f"{about}{place.rank}{group} {place.chance:.0%}"
