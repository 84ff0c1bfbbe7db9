"""Policies against each other on simulated calls, over all cores, with a bar on standard error."""

from __future__ import annotations

import multiprocessing
import os
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from pathlib import Path

from tqdm import tqdm

from graph.compile import CompiledModel, compile_model
from graph.context import Asker, Economics
from graph.errors import UnknownName
from graph.policy.calls import Call, Policy, Remembered, Visit, draw_calls, play
from graph.policy.contenders import contenders
from graph.policy.standings import Standing, standings
from schemas.load import load_text

CHUNK = 25
"""Calls that a process plays before it reports."""


@dataclass(frozen=True, slots=True)
class Match:
    """What is played: a graph document, how many calls from which seed, by which policies, for whom."""

    path: Path
    calls: int
    seed: int
    budget: float
    asker: Asker
    economics: Economics


class _Table:
    """One process: the model, all calls, and the policies with what they remember."""

    def __init__(self, match: Match) -> None:
        self.match = match
        self.model = model_of(match)
        self.calls = draw_calls(self.model, match.calls, match.seed)
        self.policies: dict[str, Policy] = {
            name: policy if name == "random" else Remembered(policy)
            for name, policy in contenders(match.seed, match.budget).items()
        }

    def play(self, name: str, first: int) -> list[Visit]:
        """The visits of one policy on the calls of one chunk."""
        some = self.calls[first: first + CHUNK]
        policy = self.policies[name]
        return [play(self.model, call, policy, self.match.asker, self.match.economics) for call in some]


_tables: list[_Table] = []


def _sit_down(match: Match) -> None:
    _tables.append(_Table(match))


def _play(name: str, first: int) -> list[Visit]:
    return _tables[-1].play(name, first)


def model_of(match: Match) -> CompiledModel:
    """The compiled graph of a match."""
    return compile_model(load_text(match.path.read_bytes(), str(match.path)))


def simulate(match: Match, names: Sequence[str], processes: int | None = None) -> list[Standing]:
    """Play the match. Raises UnknownName for a policy that there is none of."""
    known = list(contenders(0))
    for i, name in enumerate(names):
        if name not in known:
            raise UnknownName("policy", name, known, pointer=f"/policies/{i}")
    model = model_of(match)
    calls: list[Call] = draw_calls(model, match.calls, match.seed)
    made: dict[str, dict[int, list[Visit]]] = {name: {} for name in names}
    for name, first, chunk in _played(match, names, processes or os.cpu_count() or 1):
        made[name][first] = chunk
    visits = {name: [v for first in sorted(made[name]) for v in made[name][first]] for name in names}
    return standings(model, match.asker, match.economics, calls, visits)


def _played(match: Match, names: Sequence[str], processes: int) -> Iterator[tuple[str, int, list[Visit]]]:
    jobs = [(name, first) for name in names for first in range(0, match.calls, CHUNK)]
    context = multiprocessing.get_context("spawn")
    with (
        tqdm(total=match.calls * len(names), unit="call", file=sys.stderr, disable=None, leave=False) as bar,
        ProcessPoolExecutor(processes, context, _sit_down, (match,)) as pool,
    ):
        waiting = {pool.submit(_play, *job): job for job in jobs}
        for done in as_completed(waiting):
            visits = done.result()
            bar.update(len(visits))
            yield (*waiting[done], visits)


def table(standings: Sequence[Standing], currency: str) -> str:
    """The standings as a Markdown table."""
    lines = [
        f"| policy | {currency} a call | against the first | minutes | tests | wrong parts in 100 | first visit |",
        "|---|--:|--:|--:|--:|--:|--:|",
    ]
    base = standings[0].money.mean
    for s in standings:
        more = "" if s is standings[0] else f"{s.more.mean / base * 100:+.1f} ± {s.more.within / base * 100:.1f} %"
        lines.append(
            f"| {s.policy} | {s.money.mean:.2f} ± {s.money.within:.2f} | {more} | {s.minutes.mean:.1f} "
            f"| {s.tests.mean:.1f} | {s.wrong_parts.mean * 100:.1f} "
            f"| {s.fixed.mean * 100:.1f} ± {s.fixed.within * 100:.1f} % |"
        )
    return "\n".join(lines)
