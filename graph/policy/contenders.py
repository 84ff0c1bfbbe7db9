"""Ways of working to compare with: the service's own, one-step scores, and how people do it without help.

The simple ways repair once one repair is 90 % sure to put things right, or when no test tells any more; they end
the visit when nothing is left wrong, or when no repair is likely.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from random import Random

import numpy as np

from graph.belief import Belief
from graph.policy.calls import Policy
from graph.policy.decision import DEFAULT_BUDGET, NOTHING_MORE, Choice, decide
from graph.policy.ranking import LIKELY_ENOUGH, Ranking, rank_remedies

SURE = 0.9


def ours(budget: float = DEFAULT_BUDGET) -> Policy:
    """The service's own decisions; with no budget its one-step scores."""

    def choose(belief: Belief, ranking: Ranking) -> Choice:
        remedies = [r for r in rank_remedies(belief, ranking) if not r.missing]
        return decide(belief, ranking, remedies, budget, compare=False).first

    return choose


def simple(order: Callable[[Ranking], list[str]]) -> Policy:
    """Tests in some order until one repair is sure, then repairs by their chance."""

    def choose(belief: Belief, ranking: Ranking) -> Choice:
        if belief.nothing_left >= SURE:
            return NOTHING_MORE
        fixed = np.asarray(belief.model.fixes @ belief.rows, dtype=np.float64)
        chances = {n: float(chance) for n, chance in zip(belief.model.equipment.remedies, fixed, strict=True)}
        able = [n for n in chances if not ranking.work.missing[n] and n not in belief.done]
        best = max(able, key=lambda n: (chances[n], n), default=None)
        tests = order(ranking)
        if tests and (best is None or chances[best] < SURE):
            return Choice("test", tests[0], None)
        if best is None or chances[best] < LIKELY_ENOUGH:
            return NOTHING_MORE
        return Choice("remedy", best, None)

    return choose


def _by_gain_per_cost(ranking: Ranking) -> list[str]:
    return list(ranking.open(1))


def _by_gain(ranking: Ranking) -> list[str]:
    return sorted(ranking.open(), key=lambda n: (-ranking.worth(n), n))


def _as_written(ranking: Ranking) -> list[str]:
    return sorted(ranking.open(), key=lambda n: ranking.model.by_id[n])


def _shuffled(dice: Random, ranking: Ranking) -> list[str]:
    names = sorted(ranking.open())
    return [dice.choice(names)] if names else []


def contenders(seed: int, budget: float = DEFAULT_BUDGET) -> dict[str, Policy]:
    """All policies by name; `seed` is for the one that picks tests at random."""
    return {
        "halfsplit": ours(budget),
        "one step": ours(0),
        "gain per cost": simple(_by_gain_per_cost),
        "gain": simple(_by_gain),
        "repairs by chance": simple(lambda ranking: []),
        "as written": simple(_as_written),
        "random": simple(partial(_shuffled, Random(seed))),
    }
