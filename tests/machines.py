"""Machines that nobody built: seeded random graph documents as plain data.

`small_machine` uses every feature of the document on a machine small enough to count out by hand;
`large_machine` looks like a real one (sections fed from one supply, chains and branches inside each)
and can be as large as wished.
"""

from __future__ import annotations

from random import Random
from typing import Any

Plain = dict[str, Any]


def small_machine(seed: int) -> Plain:
    """A machine of two to eight failure modes with a bit of everything."""
    return _Small(Random(seed)).document()


class _Small:
    """One small machine, drawn part by part."""

    def __init__(self, dice: Random) -> None:
        self.dice = dice
        self.conditions: Plain = {}
        self.components: Plain = {}
        self.signals: Plain = {}
        self.remedies: Plain = {}
        self.states: dict[str, list[str]] = {}
        self.modes: list[str] = []

    def maybe(self, chance: float) -> bool:
        return self.dice.random() < chance

    def some(self, names: list[str], least: int = 1) -> list[str]:
        return self.dice.sample(names, self.dice.randint(least, len(names)))

    def shares(self, count: int) -> list[float]:
        cuts = sorted(self.dice.sample(range(1, 20), count - 1))
        return [5.0 * (b - a) for a, b in zip([0, *cuts], [*cuts, 20], strict=True)]

    def document(self) -> Plain:
        for name in ("ambient", "fitted", "water")[: self.dice.randint(0, 3)]:
            self.add_condition(name)
        self.add_components()
        for number in range(self.dice.randint(1, 5)):
            self.add_signal(f"signal_{number}")
        tests = {f"test_{i}": self.test() for i in range(self.dice.randint(1, 5))}
        symptoms = {f"symptom_{i}": self.symptom() for i in range(self.dice.randint(0, 3))}
        return {
            "format": 1,
            "equipment": {
                "id": "random-machine",
                "title": "Random machine",
                "category": "test",
                "most_faults": self.dice.choice([1, 2, 2, 3]),
                "two_faults_in_100": self.dice.choice([0, 3, 12]),
                "nothing_wrong_in_100": self.dice.choice([0, 3, 10]),
                "unlisted_in_100": self.dice.choice([0.5, 2, 5]),
            },
            "conditions": self.conditions,
            "components": self.components,
            "signals": self.signals,
            "symptoms": symptoms,
            "tests": tests,
            "remedies": self.remedies,
            "parts": {f"part_{r}": {"number": r, "title": r, "price": 10} for r in self.remedies},
        }

    def add_condition(self, name: str) -> None:
        states = [f"{name}_{i}" for i in range(self.dice.randint(2, 3))]
        self.states[name] = states
        self.conditions[name] = {
            "title": name, "states": dict(zip(states, self.shares(len(states)), strict=True)),
        }

    def add_components(self) -> None:
        left = self.dice.randint(2, 8)
        while left:
            count = min(left, self.dice.choice([1, 1, 2, 3]))
            left -= count
            name = f"component_{len(self.components)}"
            modes = {f"mode_{i}": self.mode() for i in range(count)}
            component: Plain = {"title": name, "can_coincide": self.maybe(0.3), "failure_modes": modes}
            if self.conditions and self.maybe(0.1):
                component["only_if"] = self.condition_states()
            self.components[name] = component
            self.states[name] = [*modes, "sound"]
            self.modes += [f"{name}.{mode}" for mode in modes]

    def mode(self) -> Plain:
        mode: Plain = {
            "title": "broken",
            "calls_per_thousand": self.dice.choice([1, 7.5, 20, 60, 150]),
            "remedies": [self.remedy() for _ in range(self.dice.choice([1, 1, 2]))],
        }
        mode["remedies"] = list(dict.fromkeys(mode["remedies"]))
        if self.maybe(0.35):
            mode["shows_in_100"] = self.dice.choice([10, 30, 50, 90])
        if self.conditions and self.maybe(0.3):
            name, states = self.condition()
            mode["raised_by"] = {name: {s: self.dice.choice([0.5, 2, 6]) for s in self.some(states)}}
        if self.conditions and self.maybe(0.15):
            mode["only_if"] = self.condition_states()
        return mode

    def remedy(self) -> str:
        """A remedy of the machine, often one that another failure mode has too."""
        if self.remedies and self.maybe(0.4):
            return self.dice.choice(list(self.remedies))
        name = f"remedy_{len(self.remedies)}"
        parts = {f"part_{name}": self.dice.randint(1, 2)} if self.maybe(0.6) else {}
        self.remedies[name] = {"title": name, "minutes": self.dice.randint(5, 60), "parts": parts}
        return name

    def condition(self) -> tuple[str, list[str]]:
        name = self.dice.choice(list(self.conditions))
        return name, self.states[name]

    def condition_states(self) -> Plain:
        name, states = self.condition()
        return {name: self.dice.choice(states)}

    def add_signal(self, name: str) -> None:
        states = [f"{name}_{i}" for i in range(self.dice.randint(2, 3))]
        rules = [{"when": self.when(), "state": self.dice.choice(states)} for _ in range(self.dice.randint(1, 4))]
        self.signals[name] = {"title": name, "states": states, "rules": [*rules, {"state": states[-1]}]}
        self.states[name] = states

    def when(self) -> Plain:
        when: Plain = {}
        if self.maybe(0.6):
            when["any_fault"] = self.dice.sample(self.modes, min(len(self.modes), self.dice.randint(1, 3)))
        if self.maybe(0.2):
            when["all_faults"] = self.dice.sample(self.modes, min(len(self.modes), self.dice.randint(1, 2)))
        for group, chance in ((self.signals, 0.5), (self.conditions, 0.25), (self.components, 0.2)):
            if group and self.maybe(chance):
                name = self.dice.choice(list(group))
                states = self.some(self.states[name])
                when[name] = states[0] if len(states) == 1 else states
        return when or {"any_fault": [self.dice.choice(self.modes)]}

    def revealed(self) -> tuple[str, list[str]]:
        groups = [self.signals, self.signals, self.components]
        if self.conditions:
            groups.append(self.conditions)
        name = self.dice.choice(list(self.dice.choice(groups)))
        return name, self.states[name]

    def symptom(self) -> Plain:
        name, states = self.revealed()
        symptom: Plain = {
            "title": "noticed",
            "shows": {name: self.some(states)},
            "reported_in_100": self.dice.choice([70, 90, 100]),
            "misreported_in_100": self.dice.choice([0, 3, 20]),
            "sees_intermittent": self.maybe(0.3),
        }
        if self.conditions and self.maybe(0.15):
            symptom["only_if"] = self.condition_states()
        return symptom

    def test(self) -> Plain:
        name, states = self.revealed()
        good = self.some(states)
        bad: Any = [s for s in states if s not in good]
        outcomes: Plain = {"good": good, "bad": bad if bad and self.maybe(0.5) else "otherwise"}
        if self.maybe(0.2):
            outcomes = {"good": good, "middling": {"title": "So so", "states": bad or "otherwise"}, "bad": "otherwise"}
            if not bad:
                del outcomes["bad"]
        test: Plain = {
            "title": "tried", "reveals": name, "minutes": self.dice.randint(1, 30), "outcomes": outcomes,
            "right_in_100": self.dice.choice([80, 97, 100]), "sees_intermittent": self.maybe(0.2),
            "repeats": self.dice.choice([1, 1, 3]),
        }
        if self.maybe(0.2):
            names = list(outcomes)
            test["chances"] = {self.dice.choice(states): dict(zip(names, self.shares(len(names)), strict=True))}
        if self.conditions and self.maybe(0.2):
            test["only_if"] = self.condition_states()
        return test


def large_machine(seed: int, modes: int, most_faults: int, tests_per_mode: float = 1.3) -> Plain:
    """A realistic machine with this many failure modes, and tests in proportion.

    Sections of about a dozen components hang from one supply. Inside a section each component hands
    a signal on to one or two others; a fault upstream takes away what comes after it.
    """
    dice = Random(seed)
    components: Plain = {}
    signals: Plain = {"supply": {
        "title": "Supply", "states": ["present", "absent"],
        "rules": [{"when": {"any_fault": ["component_0.stuck"]}, "state": "absent"}, {"state": "present"}],
    }}
    remedies: Plain = {}
    parts: Plain = {}
    section: list[str] = ["supply"]
    left = modes
    while left:
        number = len(components)
        if number % 12 == 0:
            section = ["supply"]
        names = ["stuck", "worn"][: min(dice.choice([1, 2, 2]), left)]
        left -= len(names)
        component = f"component_{number}"
        usual = [dice.choice([f"replace_{number}"] * 3 + [f"clean_{number}", f"clean_section_{number // 12}"])
                 for _ in names]
        for remedy in usual:
            remedies[remedy] = {"title": remedy.replace("_", " "), "minutes": 20}
            if remedy.startswith("replace"):
                parts[f"part_{number}"] = {"number": str(number), "title": "A part", "price": 10 + number % 90}
                remedies[remedy]["parts"] = {f"part_{number}": 1}
        components[component] = {"title": f"Component {number}", "failure_modes": {
            name: {
                "title": name.capitalize(),
                "calls_per_thousand": round(dice.lognormvariate(1.0, 1.0), 2) + 0.01,
                "remedies": [remedy],
                "shows_in_100": dice.choice([100] * 9 + [40]),
            }
            for name, remedy in zip(names, usual, strict=True)
        }}
        if number:
            signals[f"signal_{number}"] = _stage(dice.choice(section[-3:]), component, names)
            section.append(f"signal_{number}")
    shown = dice.sample(list(signals), min(12, len(signals)))
    return {
        "format": 1,
        "equipment": {
            "id": "large-machine", "title": "Large machine", "category": "test", "most_faults": most_faults,
        },
        "components": components,
        "signals": signals,
        "symptoms": {f"symptom_{i}": _symptom_of(signals, s) for i, s in enumerate(shown)},
        "tests": {f"test_{i}": _test_of(dice, signals, components) for i in range(round(tests_per_mode * modes))},
        "remedies": remedies,
        "parts": parts,
    }


def _stage(before: str, component: str, names: list[str]) -> Plain:
    """The signal that a component hands on: gone with what comes before, weak where it is worn."""
    rules = [{"when": {before: "absent"}, "state": "absent"},
             {"when": {"any_fault": [f"{component}.stuck"]}, "state": "absent"}]
    states = ["present", "absent"]
    if "worn" in names:
        states.append("weak")
        rules.append({"when": {"any_fault": [f"{component}.worn"]}, "state": "weak"})
    return {"title": f"After {component}", "states": states, "rules": [*rules, {"state": "present"}]}


def _symptom_of(signals: Plain, name: str) -> Plain:
    return {"title": f"No {name}", "shows": {name: [s for s in signals[name]["states"] if s != "present"]}}


def _test_of(dice: Random, signals: Plain, components: Plain) -> Plain:
    """A check of a signal (mostly) or of a component itself."""
    if dice.random() < 0.75:
        reveals = dice.choice(list(signals))
        outcomes: Plain = {s: [s] for s in signals[reveals]["states"]}
    else:
        reveals = dice.choice(list(components))
        outcomes = {"in_order": ["sound"], "faulty": "otherwise"}
    return {
        "title": f"Check {reveals}", "reveals": reveals, "minutes": dice.randint(1, 30), "outcomes": outcomes,
        "right_in_100": dice.choice([90, 95, 97, 99]),
    }
