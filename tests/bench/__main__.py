"""Print the figures as one table and write them as JSON: `python -m tests.bench [FILE]`."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from dataclasses import asdict, dataclass
from functools import partial

from graph.compile import compile_model
from graph.gain import gains
from tests.bench.asking import question_paces
from tests.bench.decisions import paces
from tests.bench.kits import kit_paces
from tests.bench.readings import MOST_MS, reading_costs
from tests.bench.subjects import (
    SIZES,
    TARGETS_MS,
    LibraryNetwork,
    NaiveLoop,
    Subject,
    generated,
    generated_equipment,
    ice_maker,
    ice_maker_equipment,
    memory_mb,
)
from tests.bench.timing import timed


@dataclass(frozen=True)
class Figure:
    """One line of the table. Times are medians in milliseconds, ratios other / ours in the same run."""

    what: str
    hypotheses: int
    observations: int
    milliseconds: float
    target: float | None = None
    believe: float | None = None
    gains: float | None = None
    other: str = ""
    other_milliseconds: float | None = None
    ratio: float | None = None
    megabytes: float | None = None
    peak_megabytes: float | None = None


def answer(what: str, subject: Subject, other: str, call: Callable[[], object]) -> Figure:
    """The time of one whole answer, its two halves, and another way to the same numbers."""
    belief = subject.believe()
    ours = timed(subject.answer)
    theirs = timed(call)
    return Figure(
        what, subject.model.rows, len(subject.model.watches), ours, TARGETS_MS[what],
        timed(subject.believe), timed(lambda: gains(belief)),
        other, theirs, theirs / ours,
    )


def figures() -> list[Figure]:
    """Everything that is measured."""
    small = ice_maker()
    equipment = ice_maker_equipment()
    network = LibraryNetwork(small)
    result = [
        answer("ice maker", small, "pyAgrum", network.answer),
        Figure("ice maker from YAML", small.model.rows, len(small.model.watches),
               timed(lambda: compile_model(ice_maker_equipment())), TARGETS_MS["ice maker from YAML"]),
        Figure("ice maker engine part", small.model.rows, len(small.model.watches),
               timed(lambda: compile_model(equipment)), TARGETS_MS["ice maker engine part"]),
    ]
    for budget, target in ((50.0, 60.0), (0.0, 5.0)):
        for what, pace in paces(small.model, budget).items():
            for which, milliseconds in (("usual", pace.usual), ("slowest", pace.worst)):
                result.append(Figure(
                    f"{what}, {budget:g} ms, {which}", small.model.rows, len(small.model.watches), milliseconds,
                    target if what == "decision" else None,
                ))
    for what, pace, most in kit_paces(small.model):
        for which, milliseconds in (("usual", pace.usual), ("slowest", pace.worst)):
            result.append(Figure(f"{what}, {which}", small.model.rows, len(small.model.watches), milliseconds, most))
    for what, pace in question_paces(small.model):
        for which, milliseconds in (("usual", pace.usual), ("slowest", pace.worst)):
            result.append(Figure(f"{what}, {which}", small.model.rows, len(small.model.watches), milliseconds))
    for test, milliseconds in reading_costs(small.model):
        result.append(Figure(f"a reading of {test}, more than its outcome", small.model.rows,
                             len(small.model.watches), milliseconds, MOST_MS))
    for name in SIZES:
        subject = generated(name)
        loop = partial(NaiveLoop(subject.model).gains, subject.believe().rows)
        result.append(answer(name, subject, "naive loop", loop))
        compiling = partial(compile_model, generated_equipment(name))
        kept, peak = memory_mb(compiling)
        result.append(Figure(f"compile {name}", subject.model.rows, len(subject.model.watches),
                             timed(compiling, seconds=1), megabytes=kept, peak_megabytes=peak))
    return result


def cell(value: float | None, form: str) -> str:
    return "" if value is None else format(value, form)


def main() -> None:
    measured = figures()
    print(f"{'':40} {'rows':>8} {'obs.':>6} {'ms':>9} {'target':>7} {'believe':>8} {'gains':>8} "
          f"{'other':>10} {'ms':>9} {'ratio':>7} {'MB':>7} {'peak':>7}")
    for f in measured:
        print(f"{f.what:40} {f.hypotheses:8,} {f.observations:6,} {f.milliseconds:9.3f} {cell(f.target, '.1f'):>7} "
              f"{cell(f.believe, '.3f'):>8} {cell(f.gains, '.3f'):>8} {f.other:>10} "
              f"{cell(f.other_milliseconds, '.1f'):>9} {cell(f.ratio, ',.0f'):>7} {cell(f.megabytes, '.1f'):>7} "
              f"{cell(f.peak_megabytes, '.1f'):>7}")
    if len(sys.argv) > 1:
        with open(sys.argv[1], "w", encoding="utf-8") as file:
            json.dump([asdict(f) for f in measured], file, indent=1)


if __name__ == "__main__":
    main()
