"""Small random kits, and the best of all kits by trying every one: no code of the engine's choice."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from random import Random

from graph.kit.problem import IndexedNeed, KitProblem, problem_of
from graph.kit.stock import Item, Room, Terms

KINDS = ("single", "alternatives", "quantities", "jobs")


def drawn(kind: str, seed: int) -> KitProblem:
    """Two to five parts, two to six needs; limits, stock and what is aboard by chance."""
    dice = Random(f"{kind} {seed}")
    count = dice.randint(2, 5 if kind != "jobs" else 4)
    items = [
        Item(f"part_{i}", str(i), f"part {i}", dice.choice([1.0, 5.0, 20.0, 80.0, 200.0]), dice.choice([0.5, 1.0, 3.0]),
             dice.choice([0.1, 1.0, 4.0]))
        for i in range(count)
    ]
    limits: list[tuple[Room, float]] = []
    if dice.random() < 0.5:
        limits.append(("budget", dice.choice([10.0, 50.0, 120.0, 300.0])))
    if dice.random() < 0.3:
        limits.append(("count", dice.choice([1.0, 2.0, 3.0])))
    if dice.random() < 0.3:
        limits.append(("volume_litres", dice.choice([1.0, 2.0, 4.0])))
    if dice.random() < 0.2:
        limits.append(("weight_kg", dice.choice([1.0, 2.0, 5.0])))
    terms = Terms(
        dice.choice(["money", "chance"]), dice.choice([50.0, 140.0, 400.0]), dice.choice([0.0, 1.5]),
        dice.choice([0.0, 0.05, 0.3]), tuple(limits),
        aboard=tuple((item.key, 1) for item in items if dice.random() < 0.15),
        stock=tuple((item.key, dice.choice([0, 1, 2])) for item in items if dice.random() < 0.3),
    )

    def slot() -> tuple[tuple[int, ...], int]:
        serving = dice.sample(range(count), dice.choice([1, 2]) if kind in ("alternatives", "jobs") else 1)
        return tuple(serving), dice.choice([1, 1, 2]) if kind in ("quantities", "jobs") else 1

    def need() -> IndexedNeed:
        ways = 1 if kind == "single" else dice.choice([1, 1, 2])
        return tuple(tuple(slot() for _ in range(dice.choice([0, 1, 1, 2]))) for _ in range(ways))

    weights = [dice.random() for _ in range(dice.randint(2, 6))]
    return problem_of(items, [
        (0.95 * w / sum(weights), tuple(need() for _ in range(dice.choice([1, 2]) if kind == "jobs" else 1)))
        for w in weights
    ], terms)


def finished(problem: KitProblem, needs: Sequence[IndexedNeed], held: Sequence[int]) -> int:
    """The most jobs that can be finished with what is held, each piece going to one job."""
    if not needs:
        return 0
    best = finished(problem, needs[1:], held)
    for way in needs[0]:
        wanted = sorted({i for serves, _ in way for i in serves})
        for taken in product(*[range(min(held[i], 2) + 1) for i in wanted]):
            took = dict(zip(wanted, taken, strict=True))
            if all(sum(took[i] for i in serves) >= n for serves, n in way):
                left = [n - took.get(i, 0) for i, n in enumerate(held)]
                best = max(best, 1 + finished(problem, needs[1:], left))
    return best


def best_of_all(problem: KitProblem) -> tuple[float, float]:
    """The least money, and the most jobs finished, of all kits within the limits."""
    money, most = float("inf"), 0.0
    jobs = sum(chance * len(needs) for chance, needs in problem.shares)
    for loaded in product(*[range(int(min(n, 4)) + 1) for n in problem.most]):
        if any(problem.used(room, loaded) > limit for room, limit in problem.terms.limits):
            continue
        held = [a + n for a, n in zip(problem.aboard, loaded, strict=True)]
        done = sum(chance * finished(problem, needs, held) for chance, needs in problem.shares)
        money = min(money, problem.carrying(loaded) + problem.terms.trip * (jobs - done))
        most = max(most, done)
    return money, most
