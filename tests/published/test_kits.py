"""What the literature on repair kits says of the best kit."""

from __future__ import annotations

from itertools import product
from math import log, prod
from random import Random

import numpy as np
import pytest
from scipy.optimize import linprog

from graph.kit.choose import choose
from graph.kit.problem import IndexedNeed, KitProblem, problem_of
from graph.kit.stock import Item, Terms


def part(number: int, price: float) -> Item:
    return Item(f"part_{number}", str(number), f"part {number}", price)


def wanting(*parts: int) -> tuple[IndexedNeed, ...]:
    """One job that is finished with one piece of each of these parts."""
    return ((tuple(((i,), 1) for i in parts),),)


@pytest.mark.parametrize("seed", range(100))
def test_parts_that_fail_independently_are_taken_in_one_order(seed: int) -> None:
    """S. Smith, J. Chambers and E. Shlifer, "Optimal inventories based on job completion rate for repairs requiring
    multiple items", Management Science 26, 1980: the best kit is a prefix of the parts in the order of holding cost
    over -ln(1 - p). (Statement from memory; recomputed here by trying every kit.)
    """
    dice = Random(seed)
    count = dice.randint(3, 6)
    chances = [dice.uniform(0.01, 0.5) for _ in range(count)]
    costs = [dice.uniform(0.2, 20) for _ in range(count)]
    trip = dice.uniform(20, 150)
    shares = []
    for wanted in product((0, 1), repeat=count):
        mass = prod(p if w else 1 - p for p, w in zip(chances, wanted, strict=True))
        shares.append((mass, wanting(*[i for i, w in enumerate(wanted) if w])))
    items = [part(i, c) for i, c in enumerate(costs)]
    best = choose(problem_of(items, shares, Terms(trip=trip, picking=0.0, carrying_share=1.0)))

    def cost(kit: tuple[int, ...]) -> float:
        fill = prod(1 if k else 1 - p for p, k in zip(chances, kit, strict=True))
        return sum(c for c, k in zip(costs, kit, strict=True) if k) + trip * (1 - fill)

    assert best.cost == pytest.approx(min(map(cost, product((0, 1), repeat=count))))
    order = sorted(range(count), key=lambda i: costs[i] / -log(1 - chances[i]))
    assert {i for i, n in enumerate(best.loaded) if n} == set(order[: sum(best.loaded)])


def drawn(seed: int) -> KitProblem:
    """Twelve parts and forty kinds of job that want one to three of them."""
    dice = Random(seed)
    items = [part(i, dice.uniform(1, 60)) for i in range(12)]
    weights = [dice.random() for _ in range(40)]
    return problem_of(items, [
        (w / sum(weights), wanting(*dice.sample(range(12), dice.choice([1, 1, 2, 3])))) for w in weights
    ], Terms(trip=140.0, picking=0.0, carrying_share=0.1))


@pytest.mark.parametrize("seed", range(30))
def test_without_limits_the_linear_relaxation_is_enough(seed: int) -> None:
    """J. Mamer and S. Smith, "Optimizing field repair kits based on job completion rate", Management Science 28, 1982:
    without a budget the choice is a closure problem, whose relaxation is integral. (Statement from memory; the linear
    program here is written out anew and solved by scipy.)
    """
    problem = drawn(seed)
    count, jobs = len(problem.items), len(problem.shares)
    cost = np.array([0.1 * item.price for item in problem.items] + [-140.0 * mass for mass, _ in problem.shares])
    rows = []
    for job, (_, ((way,),)) in enumerate(problem.shares):
        for (i,), _ in way:
            row = np.zeros(count + jobs)
            row[count + job], row[i] = 1, -1
            rows.append(row)
    found = linprog(cost, np.array(rows), np.zeros(len(rows)), bounds=(0, 1))
    best = choose(problem)
    assert found.fun is not None
    assert found.x is not None
    assert found.fun + 140.0 == pytest.approx(best.cost, abs=1e-6)
    assert np.abs(found.x - np.rint(found.x)).max() < 1e-7


def test_one_part_at_a_time_can_miss_the_best_kit_by_far() -> None:
    """Two parts that only together finish a job are never picked one by one: .4 against .6.

    A set-union knapsack (O. Goldschmidt, D. Nehme and G. Yu, "Note: on the set-union knapsack problem", Naval Research
    Logistics 41, 1994), for which no greedy rule is safe. (Citation from memory; the instance is our own.)
    """
    items = [part(0, 10), part(1, 10), part(2, 10)]
    problem = problem_of(items, [(0.4, wanting(0)), (0.6, wanting(1, 2))], Terms("chance", limits=(("count", 2.0),)))
    loaded = [0, 0, 0]
    for _ in range(2):
        gains = problem.chances([[n + (i == j) for i, n in enumerate(loaded)] for j in range(3)])
        loaded[int(np.argmax(gains))] += 1
    assert problem.chances([loaded]) == pytest.approx([0.4])
    assert choose(problem).finished == pytest.approx(0.6)
    assert choose(problem).loaded == (0, 1, 1)
