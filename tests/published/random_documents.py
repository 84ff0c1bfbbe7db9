"""Small random graph documents and findings, for comparisons with other ways to compute the same."""

from __future__ import annotations

from random import Random
from typing import Any


def random_document(seed: int) -> dict[str, Any]:
    """A document with a little of everything: chains and forks of signals, intermittent modes, options."""
    rng = Random(seed)
    conditions: dict[str, Any] = {
        "fitted": {"title": "Booster fitted", "states": shares(rng, ["with_booster", "without"])},
        "water": {"title": "Water", "states": shares(rng, ["soft", "medium", "hard"][: rng.randint(2, 3)])},
    }
    if rng.random() < 0.5:
        conditions["room"] = {"title": "Room", "states": shares(rng, ["cool", "warm"])}
    components: dict[str, Any] = {}
    modes = []
    remedies = [f"repair_{i}" for i in range(rng.randint(2, 4))]
    for i in range(rng.randint(3, 4)):
        name = f"part_{'abcd'[i]}"
        failures = {}
        for j in range(rng.randint(1, 3 if i < 3 else 2)):
            mode: dict[str, Any] = {
                "title": f"Fails in way {j}", "calls_per_thousand": round(rng.uniform(1, 90), 1),
                "remedies": rng.sample(remedies, 1),
            }
            if rng.random() < 0.3:
                mode["shows_in_100"] = rng.randint(10, 80)
            if rng.random() < 0.4:
                condition = rng.choice(list(conditions))
                state = rng.choice(list(conditions[condition]["states"]))
                mode["raised_by"] = {condition: {state: round(rng.uniform(0.2, 6), 2)}}
            if rng.random() < 0.15:
                condition = rng.choice(list(conditions))
                mode["only_if"] = {condition: rng.choice(list(conditions[condition]["states"]))}
            failures[f"way_{j}"] = mode
            modes.append(f"{name}.way_{j}")
        components[name] = {"title": f"Part {i}", "failure_modes": failures, "can_coincide": rng.random() < 0.25}
    components["part_a"]["failure_modes"]["way_0"].pop("only_if", None)
    signals: dict[str, Any] = {}
    for i in range(rng.randint(3, 5)):
        states = ["good", "poor", "none"][: rng.randint(2, 3)]
        rules: list[dict[str, Any]] = []
        for _ in range(rng.randint(1, 3)):
            when: dict[str, Any] = {}
            if signals and rng.random() < 0.6:
                parent = rng.choice(list(signals))
                when[parent] = some(rng, signals[parent]["states"])
            if rng.random() < 0.2:
                when["fitted"] = rng.choice(["with_booster", "without"])
            if rng.random() < 0.15:
                part = rng.choice(list(components))
                when[part] = some(rng, [*components[part]["failure_modes"], "sound"])
            if not when or rng.random() < 0.5:
                kind = rng.choice(["any_fault", "any_fault", "all_faults"])
                when[kind] = rng.sample(modes, min(len(modes), rng.randint(1, 3 if kind == "any_fault" else 2)))
            rules.append({"when": when, "state": rng.choice(states)})
        signals[f"signal_{i}"] = {"title": f"Signal {i}", "states": states, "rules": [*rules, {"state": states[0]}]}
    revealable = {
        **{s: list(signals[s]["states"]) for s in signals},
        **{c: [*components[c]["failure_modes"], "sound"] for c in components},
    }
    symptoms: dict[str, Any] = {}
    for i in range(rng.randint(1, 2)):
        about = rng.choice(list(revealable))
        states = revealable[about]
        symptoms[f"symptom_{i}"] = {
            "title": f"Symptom {i}", "shows": {about: rng.sample(states, rng.randint(1, len(states) - 1))},
            "reported_in_100": rng.randint(60, 99), "misreported_in_100": rng.randint(0, 15),
            "sees_intermittent": rng.random() < 0.2,
        }
        if rng.random() < 0.25:
            symptoms[f"symptom_{i}"]["only_if"] = {"fitted": "with_booster"}
    tests: dict[str, Any] = {}
    for i in range(rng.randint(3, 4)):
        about = rng.choice([*revealable, *revealable, *conditions]) if i else rng.choice(list(signals))
        states = revealable.get(about) or list(conditions[about]["states"])
        outcomes: dict[str, Any] = {"first": rng.sample(states, 1), "other": "otherwise"}
        if len(states) > 2 and rng.random() < 0.5:
            rest = [s for s in states if s not in outcomes["first"]]
            outcomes = {"first": outcomes["first"], "second": {"title": "Second", "states": rest[:1]},
                        "third": rest[1:]}
        test: dict[str, Any] = {
            "title": f"Test {i}", "reveals": about, "minutes": 5, "outcomes": outcomes,
            "right_in_100": rng.choice([100, 99.9, 97, 90, 80]), "sees_intermittent": rng.random() < 0.2,
        }
        if rng.random() < 0.25:
            test["chances"] = {rng.choice(states): shares(rng, list(outcomes))}
        if rng.random() < 0.5:
            test["repeats"] = rng.randint(2, 3)
        if rng.random() < 0.25:
            test["only_if"] = {"fitted": "without"}
        tests[f"test_{i}"] = test
    used = {r for c in components.values() for m in c["failure_modes"].values() for r in m["remedies"]}
    return {
        "format": 1,
        "equipment": {
            "id": f"random-{seed}", "title": "A random machine", "category": "test", "most_faults": rng.randint(1, 3),
            "two_faults_in_100": rng.choice([0, 3, 10]), "nothing_wrong_in_100": rng.choice([0, 3, 10]),
            "unlisted_in_100": rng.choice([0.1, 2, 8]),
        },
        "conditions": conditions, "components": components, "signals": signals, "symptoms": symptoms, "tests": tests,
        "remedies": {r: {"title": r, "minutes": 10} for r in sorted(used)},
    }


def shares(rng: Random, names: list[str]) -> dict[str, float]:
    """Whole percentages that add up to 100, none of them 0."""
    cuts = sorted(rng.sample(range(1, 100), len(names) - 1))
    return {n: float(b - a) for n, a, b in zip(names, [0, *cuts], [*cuts, 100], strict=True)}


def some(rng: Random, names: list[str]) -> str | list[str]:
    """One of the names, or two of them."""
    return rng.choice(names) if rng.random() < 0.7 else rng.sample(names, 2)


Told = str | dict[str, int]


def random_case(seed: int, data: dict[str, Any]) -> tuple[list[tuple[str, Told]], dict[str, str]]:
    """Findings about different observations, and conditions that are known."""
    rng = Random(seed)
    looks = [*data["symptoms"], *data["tests"]]
    found: list[tuple[str, Told]] = []
    for about in rng.sample(looks, rng.randint(0, min(4, len(looks)))):
        outcomes = list(data["tests"][about]["outcomes"]) if about in data["tests"] else ["present", "absent"]
        reveals = data["tests"][about]["reveals"] if about in data["tests"] else ""
        if about in data["tests"] and reveals not in data["conditions"] and rng.random() < 0.3:
            counts = {o: rng.randint(0, 2) for o in outcomes}
            counts[rng.choice(outcomes)] += 1
            found.append((about, counts))
        else:
            found.append((about, rng.choice(outcomes)))
    known = {
        name: rng.choice(list(condition["states"]))
        for name, condition in data["conditions"].items() if rng.random() < 0.3
    }
    return found, known
