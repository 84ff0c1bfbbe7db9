"""Kits on simulated calls: how the promised chance is kept, and what simple rules reach for the same money.

A caller names one thing and is asked a few more; then the van is loaded. A call counts as finished when the kit
covers a way to repair what is really wrong. The unlisted cause is drawn with its share, says what the model expects
of it, and is never finished.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from graph.belief import Belief, believe
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.evidence import Finding
from graph.kit.choose import choose
from graph.kit.needs import need_table
from graph.kit.problem import KitProblem, case_problem, indexed_needs
from graph.kit.stock import Terms, items_of
from graph.policy.calls import draw_calls
from graph.policy.desk import Desk

MONTH = 200
"""Closed jobs whose used parts the rule of the most used goes by."""
LOAD = tuple[int, ...]
Rule = Callable[[Belief, KitProblem, float], LOAD]


@dataclass(frozen=True, slots=True)
class Bin:
    """Calls of one tenth of the promised chances: the mean promised, and the share that was kept."""

    calls: int
    promised: float
    kept: float


@dataclass(frozen=True, slots=True)
class RuleResult:
    """What one way of choosing reached with one sum of money: the share of calls finished, the mean price."""

    rule: str
    money: float
    finished: float
    price: float


@dataclass(frozen=True, slots=True)
class Trial:
    """All of it: `bins` for the best kit without a budget, `rules` at equal money, the best kit first."""

    calls: int
    bins: tuple[Bin, ...]
    rules: tuple[RuleResult, ...]


class Packer:
    """What is loaded for what the desk knows, thought out once for the same findings."""

    def __init__(self, model: CompiledModel, asker: Asker, economics: Economics, seed: int) -> None:
        self.model, self.economics = model, economics
        self.items = items_of(model.equipment)
        self.table = need_table(model, asker)
        self.needs = indexed_needs(self.table, self.items)
        self.used = _most_used(model, seed)
        self.loads: dict[tuple[tuple[Finding, ...], str, float | None], tuple[LOAD, float]] = {}
        self.latest: tuple[tuple[Finding, ...], Belief, KitProblem] | None = None

    def load(self, findings: tuple[Finding, ...], rule: str, money: float | None) -> tuple[LOAD, float]:
        """What a rule loads for so much money, and the chance that is promised."""
        key = (findings, rule, money)
        if key not in self.loads:
            belief, problem = self._posed(findings)
            if money is None:
                loaded = choose(problem).loaded
            elif rule == "halfsplit":
                terms = replace(problem.terms, aim="chance", limits=(("budget", money),))
                loaded = choose(replace(problem, terms=terms), presolve=False).loaded
            else:
                weights = belief.marginals_of("parts") if rule == "likeliest parts" else self.used
                loaded = self._by_weight(problem, weights, money)
            self.loads[key] = loaded, problem.chances([loaded])[0]
        return self.loads[key]

    def _posed(self, findings: tuple[Finding, ...]) -> tuple[Belief, KitProblem]:
        """What is believed and to be chosen; the same findings mostly come several times running."""
        if self.latest is None or self.latest[0] != findings:
            belief = believe(self.model, findings)
            masses = self.table.masses(belief.fault_sets)
            self.latest = findings, belief, case_problem(self.table, masses, self.items, Terms.of(self.economics))
        return self.latest[1:]

    def _by_weight(self, problem: KitProblem, weights: dict[str, float], money: float) -> LOAD:
        """Parts by their weight, each in the pieces that a repair wants, while the money lasts."""
        pieces = Counter[str]()
        for remedy in self.model.equipment.remedies.values():
            for part, n in remedy.parts:
                pieces[part] = max(pieces[part], n)
        loaded = [0] * len(self.items)
        for i in sorted(range(len(self.items)), key=lambda i: (-weights[self.items[i].key], self.items[i].key)):
            item = self.items[i]
            if weights[item.key] > 0 and item.price * pieces[item.key] <= money:
                loaded[i] = pieces[item.key]
                money -= item.price * loaded[i]
        return tuple(loaded)

    def finished(self, loads: Sequence[LOAD], row: int) -> list[bool]:
        """Which loads finish a call with this truth."""
        need = int(self.table.of_set[self.model.hypotheses.fault_set[row]])
        if need == len(self.needs):
            return [False] * len(loads)
        return [
            any(all(sum(load[i] for i in serves) >= n for serves, n in way) for way in self.needs[need])
            for load in loads
        ]


def _most_used(model: CompiledModel, seed: int) -> dict[str, float]:
    """How many pieces of each part a month of closed jobs used up."""
    used = dict.fromkeys(model.equipment.parts, 0.0)
    for call in draw_calls(model, MONTH, seed + 1):
        members = model.hypotheses.members[call.row]
        usual = {model.equipment.modes[model.hypotheses.modes[m]].remedies[0] for m in members.tolist() if m >= 0}
        for remedy in usual:
            for part, n in model.equipment.remedies[remedy].parts:
                used[part] += n
    return used


RULES = ("halfsplit", "likeliest parts", "most used")


def trial(
    model: CompiledModel, count: int, seed: int, asker: Asker, economics: Economics, budgets: Sequence[float]
) -> Trial:
    """Play `count` calls. A pure function of its arguments."""
    desk, packer = Desk(model, economics), Packer(model, asker, economics, seed)
    promised, kept = np.zeros(count), np.zeros(count)
    done = np.zeros((len(budgets), len(RULES)))
    prices = np.zeros((len(budgets), len(RULES)))
    keys = [(rule, money) for money in budgets for rule in RULES]
    price = np.array([item.price for item in packer.items])
    for i, call in enumerate(draw_calls(model, count, seed, unlisted=True)):
        findings = desk.findings(call)
        best, promised[i] = packer.load(findings, "halfsplit", None)
        loads = [packer.load(findings, rule, money)[0] for rule, money in keys]
        kept[i], *reached = packer.finished([best, *loads], call.row)
        done += np.array(reached, dtype=float).reshape(done.shape)
        prices += (np.array(loads) @ price).reshape(prices.shape)
    order = np.argsort(promised, kind="stable")
    bins = tuple(
        Bin(len(part), float(promised[part].mean()), float(kept[part].mean()))
        for part in np.array_split(order, 10) if len(part)
    )
    rules = tuple(
        RuleResult(rule, money, float(done[b, r] / count), float(prices[b, r] / count))
        for b, money in enumerate(budgets) for r, rule in enumerate(RULES)
    )
    return Trial(count, bins, rules)
