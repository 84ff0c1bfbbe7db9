"""Conversations on simulated calls: what asking first does to the jobs that are finished at once, for the same money.

A caller names one thing. Either the van is loaded at once, or the caller is asked what would change most; every
answer is “can't tell” with a fixed chance, and is otherwise what the machine shows. A safe remedy is tried by the
caller where the conversation says so; a technician then brings the best kit that the money allows. A call is finished
at once when the remedy helped, or when the first visit's kit covers a way to repair what is really wrong.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from graph.belief import believe
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.conversation.asking import MOST_ASKED, heard_dangers, worthwhile
from graph.conversation.stakes import MANAGED, fates_of, stakes_of
from graph.evidence import STILL_FAULTY, Finding
from graph.kit.trial import Packer
from graph.policy.calls import draw_calls, outcome

CANT_TELL = 1 / 3
"""Chance that a simulated caller can't tell."""
Known = tuple[tuple[Finding, ...], tuple[str, ...]]
"""Findings, and what was asked and could not be told."""


@dataclass(frozen=True, slots=True)
class AskingResult:
    """One way of working with one sum of money for the kit: shares of calls, means over calls, and 95 % half-widths.

    `at_once` are calls finished without a second visit, `unvisited` those of them that nobody came for; `finished` is
    the share of visits that were the last; `price` is that of the kit of a visit.
    """

    asked_first: bool
    limit: float
    at_once: float
    within: float
    unvisited: float
    finished: float
    price: float
    questions: float


@dataclass(frozen=True, slots=True)
class AskingTrial:
    """All of it; `gain` (by limit) is how many more calls in 1 are finished at once when asked first, and its 95 %."""

    calls: int
    results: tuple[AskingResult, ...]
    gains: tuple[tuple[float, float, float], ...]
    most_questions: int


class _Caller:
    """Conversations, thought out once for the same findings."""

    def __init__(self, model: CompiledModel, asker: Asker, economics: Economics) -> None:
        self.model, self.asker, self.economics = model, asker, economics
        self.met: dict[tuple[Finding, ...], tuple[tuple[str, ...], str | None]] = {}

    def next(self, known: Known, may_ask: bool) -> tuple[str | None, str | None]:
        """What to ask, or else the safe remedy to try; neither where a technician has to come."""
        findings, passed = known
        if findings not in self.met:
            self.met[findings] = self._thought(findings)
        questions, remedy = self.met[findings]
        question = next((name for name in questions if name not in passed), None) if may_ask else None
        return (question, None) if question else (None, remedy)

    def _thought(self, findings: tuple[Finding, ...]) -> tuple[tuple[str, ...], str | None]:
        """The questions that are worth asking, best first, and the safe remedy to try without them."""
        equipment = self.model.equipment
        if heard_dangers(equipment, findings, ""):
            return (), None
        tried = frozenset(f.about for f in findings if f.about in equipment.remedies)
        stakes = stakes_of(believe(self.model, findings), self.asker, self.economics, tried)
        questions = worthwhile(stakes, frozenset(f.about for f in findings))
        return tuple(name for name, _ in questions), stakes.way(stakes.masses)[1]


def asking_trial(
    model: CompiledModel, count: int, seed: int, asker: Asker, economics: Economics, limits: Sequence[float],
    most: int = MOST_ASKED,
) -> AskingTrial:
    """Play `count` calls with and without questions, with each limit on the kit. A pure function of its arguments."""
    packer = Packer(model, asker, economics, seed)
    caller, fates = _Caller(model, asker, economics), fates_of(model, asker)
    prices = np.array([item.price for item in packer.items])
    dice = np.random.default_rng(seed + 2)
    done = np.zeros((2, len(limits), count))
    price = np.zeros((2, len(limits), count))
    visited, questions = np.ones((2, count), dtype=bool), np.zeros(count)
    for i, call in enumerate(draw_calls(model, count, seed, unlisted=True)):
        fate = int(fates.of_set[model.hypotheses.fault_set[call.row]])
        vague, able = dice.random(len(model.watches)), dice.random(len(fates.remedies))
        known: Known = (call.said, ())
        helped = False
        while not helped:
            question, remedy = caller.next(known, questions[i] < most)
            if question is not None:
                questions[i] += 1
                place = model.by_id[question]
                said = None if vague[place] < CANT_TELL else outcome(
                    model, question, call.row, float(call.luck[place])
                )
                known = _after(known, question, said)
            elif remedy is not None:
                place = fates.remedies.index(remedy)
                helped = bool(fates.helped[place, fate]) and able[place] < MANAGED
                known = ((*known[0], Finding(remedy, ((STILL_FAULTY, 1),))), known[1])
            else:
                break
        visited[1, i] = not helped
        done[1, :, i] = helped
        for way, findings in enumerate((call.said, *([] if helped else [known[0]]))):
            loads = [packer.load(findings, "halfsplit", limit)[0] for limit in limits]
            done[way, :, i] = packer.finished(loads, call.row)
            price[way, :, i] = np.array(loads) @ prices
    return _summed(done, price, visited, questions, limits, most)


def _after(known: Known, question: str, said: str | None) -> Known:
    if said is None:
        return known[0], tuple(sorted((*known[1], question)))
    return (*known[0], Finding(question, ((said, 1),))), known[1]


def _summed(
    done: np.ndarray[tuple[int, int, int], np.dtype[np.float64]],
    price: np.ndarray[tuple[int, int, int], np.dtype[np.float64]],
    visited: np.ndarray[tuple[int, int], np.dtype[np.bool_]], questions: np.ndarray[tuple[int], np.dtype[np.float64]],
    limits: Sequence[float], most: int,
) -> AskingTrial:
    count = len(questions)
    results, gains = [], []
    for place, limit in enumerate(limits):
        for way in (0, 1):
            here = visited[way]
            results.append(AskingResult(
                bool(way), limit, float(done[way, place].mean()), _within(done[way, place]), float((~here).mean()),
                float(done[way, place][here].mean()), float(price[way, place][here].mean()),
                float(questions.mean()) if way else 0.0,
            ))
        more = done[1, place] - done[0, place]
        gains.append((limit, float(more.mean()), _within(more)))
    return AskingTrial(count, tuple(results), tuple(gains), int(most))


def _within(values: np.ndarray[tuple[int], np.dtype[np.float64]]) -> float:
    """Half the width of a mean's 95 % interval."""
    return float(1.96 * values.std() / np.sqrt(len(values)))
