"""Small documents for published cases, and short ways to ask the engine about them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from graph.belief import Belief, believe
from graph.compile import CompiledModel
from graph.evidence import finding
from graph.gain import gains

Told = str | Mapping[str, int]
UNLISTED_IN_100 = 1e-6
"""The format wants some share for an unlisted cause; this one is 1e-8, below every printed digit."""


def mode(rate: float, remedy: str, **more: Any) -> dict[str, Any]:
    return {"title": "a cause", "calls_per_thousand": rate, "remedies": [remedy], **more}


def observation(reveals: str, outcomes: Mapping[str, Any], **more: Any) -> dict[str, Any]:
    """A test without error, unless `more` says otherwise."""
    return {"title": "a test", "reveals": reveals, "outcomes": dict(outcomes), "minutes": 1, "right_in_100": 100} | more


def document(components: Mapping[str, Any], tests: Mapping[str, Any], **more: Any) -> dict[str, Any]:
    """A graph document; `more` are further sections, or fields of `equipment` in a map of that name."""
    head = {"id": "check-case", "title": "A check case", "category": "check", "most_faults": 1, "two_faults_in_100": 0,
            "nothing_wrong_in_100": 0, "unlisted_in_100": UNLISTED_IN_100, **more.pop("equipment", {})}
    used = {r for c in components.values() for m in c["failure_modes"].values() for r in m["remedies"]}
    return {"format": 1, "equipment": head, "components": dict(components), "tests": dict(tests),
            "remedies": {r: {"title": r, "minutes": 1} for r in sorted(used)}, **more}


def component(modes: Mapping[str, Any], **more: Any) -> dict[str, Any]:
    return {"title": "a component", "failure_modes": dict(modes), **more}


def ask(model: CompiledModel, found: Sequence[tuple[str, Told]] = (), known: Mapping[str, str] | None = None) -> Belief:
    return believe(model, [finding(model, about, said) for about, said in found], known)


@dataclass(frozen=True)
class Worth:
    """What an observation is worth in bits, and the chances of its outcomes."""

    hypotheses: float
    classes: float
    outcomes: dict[str, float]


def worth(belief: Belief) -> dict[str, Worth]:
    """The worth of every observation, by id."""
    found = gains(belief)
    table = {}
    for i, watch in enumerate(belief.model.watches):
        names = [o.id for o in watch.observation.outcomes]
        chances = found.outcomes[watch.first: watch.first + len(names)].tolist()
        table[watch.observation.id] = Worth(
            float(found.hypotheses[i]), float(found.classes[i]), dict(zip(names, chances, strict=True)))
    return table


def entropy(belief: Belief) -> float:
    """Entropy over hypotheses, in bits."""
    rows = belief.rows[belief.rows > 0]
    return float(-(rows * np.log2(rows)).sum())


def settled(belief: Belief) -> bool:
    """Whether one hypothesis is left, but for the unlisted cause's tiny share."""
    return bool(belief.rows.max() > 1 - 1e-5)


def greedy_tests(model: CompiledModel, found: tuple[tuple[str, Told], ...] = ()) -> float:
    """Expected number of tests when the engine's largest gain is always taken, until one cause is left."""
    belief = ask(model, found)
    if settled(belief):
        return 0.0
    table = worth(belief)
    best = max(table, key=lambda name: (round(table[name].hypotheses, 9), name))
    assert table[best].hypotheses > 1e-6, "no test tells any more"
    return 1 + sum(
        chance * greedy_tests(model, (*found, (best, outcome)))
        for outcome, chance in table[best].outcomes.items() if chance > 1e-6
    )


def fewest_tests(model: CompiledModel) -> float:
    """Expected number of tests of the best strategy: a dynamic program over what can be left."""
    known: dict[tuple[bool, ...], float] = {}

    def rest(found: tuple[tuple[str, Told], ...]) -> float:
        belief = ask(model, found)
        if settled(belief):
            return 0.0
        key = tuple((belief.rows > 1e-6).tolist())
        if key not in known:
            known[key] = min(
                1 + sum(chance * rest((*found, (name, outcome)))
                        for outcome, chance in one.outcomes.items() if chance > 1e-6)
                for name, one in worth(belief).items() if one.hypotheses > 1e-6
            )
        return known[key]

    return rest(())


def huffman_length(chances: Sequence[float]) -> float:
    """Expected length of a Huffman code: no strategy of two-way tests needs fewer."""
    trees = sorted(chances)
    total = 0.0
    while len(trees) > 1:
        joined = trees[0] + trees[1]
        total += joined
        trees = sorted([joined, *trees[2:]])
    return total
