"""How policies did on the same simulated calls, with 95 % intervals.

Most of what calls differ in is the repair itself, whose least cost is known for every cause and whose mean is
known from the graph. It is taken out as a control variate (R. Y. Rubinstein and D. P. Kroese, *Simulation and
the Monte Carlo Method*, chapter 5): the mean stays what it was and the interval becomes about a third as wide.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np

from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.hypotheses import Floats
from graph.policy.calls import Call, Visit
from graph.policy.outlook import outlook

Z = 1.96
"""Standard deviations of a 95 % interval."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A mean and half the width of its 95 % interval."""

    mean: float
    within: float


@dataclass(frozen=True, slots=True)
class Standing:
    """One policy's means over all calls. `more` is its money above that of the first policy, on the same calls;
    `wrong_parts` are those put in for nothing; `fixed` the share put right on the first visit.
    """

    policy: str
    calls: int
    money: Figure
    more: Figure
    minutes: Figure
    tests: Figure
    wrong_parts: Figure
    fixed: Figure


def standings(
    model: CompiledModel, asker: Asker, economics: Economics, calls: Sequence[Call],
    visits: Mapping[str, Sequence[Visit]],
) -> list[Standing]:
    """The standing of each policy, in the order of `visits`, whose lists are in the order of `calls`."""
    least = outlook(model, asker, economics).least
    usual = model.hypotheses.prior.sum(axis=1) * ~model.hypotheses.unlisted
    excess = np.array([least[c.row] for c in calls]) - float(usual @ least / usual.sum())
    first = np.array([v.money for v in next(iter(visits.values()))])
    found = []
    for name, made in visits.items():
        money = np.array([v.money for v in made])
        fixed = float(np.mean([v.fixed for v in made]))
        found.append(Standing(
            name, len(calls), _figure(money - excess), _figure(money - first),
            _figure(np.array([v.minutes for v in made])), _figure(np.array([float(v.tests) for v in made])),
            _figure(np.array([float(v.wrong_parts) for v in made])),
            Figure(fixed, Z * sqrt(fixed * (1 - fixed) / len(calls))),
        ))
    return found


def _figure(values: Floats) -> Figure:
    return Figure(float(values.mean()), Z * float(values.std(ddof=1)) / sqrt(len(values)) if len(values) > 1 else 0.0)
