"""Money against the chance to finish: the kits that no other beats in both.

The points are the *supported* ones: corners of the convex hull, each the best kit for some price of a return trip.
They are found by the usual bisection: between two neighbours the trip price at which both are as good is tried.
"""

from __future__ import annotations

from dataclasses import replace

from graph.kit.answers import FrontierPoint
from graph.kit.choose import choose
from graph.kit.problem import KitProblem, problem_of

MOST_POINTS = 24
"""Points after which the bisection stops."""
_Corner = tuple[float, float, tuple[int, ...]]
"""Price, chance to finish, pieces."""


def frontier_of(problem: KitProblem) -> tuple[FrontierPoint, ...]:
    """The frontier under the other limits of the problem's terms, cheapest kit first; a budget doesn't count."""
    limits = tuple((room, most) for room, most in problem.terms.limits if room != "budget")
    dearest = sum(item.price for item in problem.items) + 1.0
    last = _corner(problem, 1e4 * dearest, limits)
    first = _corner(problem, 0.0, limits)
    corners = {first[0]: first, last[0]: last}
    waiting = [(first, last)]
    while waiting and len(corners) < MOST_POINTS:
        low, high = waiting.pop(0)
        if high[1] - low[1] <= 1e-9:
            continue
        between = _corner(problem, (high[0] - low[0]) / (high[1] - low[1]), limits)
        below = low[1] + (between[0] - low[0]) * (high[1] - low[1]) / max(high[0] - low[0], 1e-9)
        if between[1] > below + 1e-9 and between[0] not in corners:
            corners[between[0]] = between
            waiting += [(low, between), (between, high)]
    return tuple(
        FrontierPoint(price, chance, {problem.items[i].key: n for i, n in enumerate(loaded) if n})
        for price, chance, loaded in sorted(corners.values())
    )


def _corner(problem: KitProblem, trip: float, limits: tuple[tuple[str, float], ...]) -> _Corner:
    terms = replace(problem.terms, aim="money", trip=trip, picking=0.0, carrying_share=1.0,
                    limits=tuple((r, m) for r, m in problem.terms.limits if (r, m) in limits))
    best = choose(problem_of(problem.items, problem.shares, terms))
    return round(problem.used("budget", best.loaded), 6), best.finished, best.loaded
