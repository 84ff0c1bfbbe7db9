"""`halfsplit diff`: what changed between two graph documents, and which calls would be answered differently."""

from __future__ import annotations

import argparse
import sys
import textwrap
from collections.abc import Iterable
from dataclasses import dataclass
from typing import get_args

import orjson

from api.exit_status import OK, USAGE
from api.progress import progress
from graph.compile import CompiledModel, compile_model
from graph.context import Asker, Economics
from graph.equipment import Licence
from graph.revisions.advice import AdviceChange, advice_change
from graph.revisions.changes import Change, changes_of
from graph.revisions.wording import said
from schemas.load import load_text

_WIDTH = 100
FEWEST_CALLS = 2


@dataclass(frozen=True, slots=True)
class Difference:
    """The changes, and what they do to calls; `calls` is None where none were asked for or nothing changed."""

    changes: tuple[Change, ...]
    calls: AdviceChange | None


def diff(given: argparse.Namespace) -> int:
    """Compare the two files that were given and print what differs; returns the exit status."""
    for name, value, fits, expected in (
        ("calls", given.calls, given.calls == 0 or given.calls >= FEWEST_CALLS, f"0, or {FEWEST_CALLS} and more"),
        ("seed", given.seed, given.seed >= 0, "0 or more"),
        ("budget-ms", given.budget_ms, given.budget_ms >= 0, "0 or more"),
    ):
        if not fits:
            print(f"halfsplit: --{name} is {value}; expected {expected}", file=sys.stderr)
            return USAGE
    models = []
    for path in (given.before, given.after):
        with progress(f"reading {path}"):
            models.append(compile_model(load_text(path.read_bytes(), str(path))))
    with progress("answering calls"):
        found = difference(models[0], models[1], given.calls, given.seed, given.budget_ms)
    encoded = orjson.dumps(found, option=orjson.OPT_INDENT_2)
    print(encoded.decode() if given.json else difference_text(found, models[1].equipment.currency))
    return OK


def difference(before: CompiledModel, after: CompiledModel, calls: int, seed: int, budget: float) -> Difference:
    """What differs, with so many simulated calls (0: none) for a technician who holds every licence."""
    changes = changes_of(before.equipment, after.equipment)
    if not changes or not calls:
        return Difference(changes, None)
    asker = Asker(licences=frozenset(get_args(Licence)))
    return Difference(changes, advice_change(before, after, calls, seed, asker, Economics(), budget))


def difference_text(found: Difference, currency: str) -> str:
    """The difference for people."""
    if not found.changes:
        return "No differences."
    count = len(found.changes)
    lines = [f"{count} change{'s' if count != 1 else ''}", *_listed(c.sentence for c in found.changes)]
    if found.calls is not None:
        lines += ["", f"Answers, on {found.calls.calls} simulated calls of the newer document",
                  *_listed(_figures(found.calls, currency))]
        if found.calls.examples:
            lines += ["", "Most often", *_listed(e.sentence for e in found.calls.examples)]
    return "\n".join(lines)


def _figures(calls: AdviceChange, currency: str) -> list[str]:
    told = [
        f"another first step in {100 * calls.step:.0f} of 100 calls, another leading suspect in "
        f"{100 * calls.suspect:.0f}, another kit in {100 * calls.kit:.0f}",
        f"following each document's advice on the newer machine, a call costs {calls.before.mean:.2f} ± "
        f"{calls.before.within:.2f} → {calls.after.mean:.2f} ± {calls.after.within:.2f} {currency}, "
        f"{round(calls.more.mean, 2) + 0.0:+.2f} ± {calls.more.within:.2f} on the same calls (95 % intervals)",
    ]
    if calls.unheard:
        told.append(f"the older document has no words for something said in {said(100 * calls.unheard)} of 100 calls")
    return told


def _listed(sentences: Iterable[str]) -> list[str]:
    return [
        textwrap.fill(s, _WIDTH, initial_indent="- ", subsequent_indent="  ", break_on_hyphens=False)
        for s in sentences
    ]
