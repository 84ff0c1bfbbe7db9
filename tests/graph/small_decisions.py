"""Small random decisions of five kinds: a graph document each, and what time costs."""

from __future__ import annotations

from random import Random

from tests.graph.exhaustive import Plain, Rates

KINDS = ("no_errors", "errors", "prices", "telling_apart", "switching")
ALIKE = 600.0
"""The price of every part where only telling causes apart is to matter."""


def drawn(kind: str, seed: int) -> tuple[Plain, Rates]:
    """A small random decision: a graph document, and what time costs."""
    return _Drawing(kind, Random(f"{kind} {seed}")).document()


class _Drawing:
    """Three to six failure modes, tests of signals that some of them change, a repair for each or for two."""

    def __init__(self, kind: str, dice: Random) -> None:
        self.kind, self.dice = kind, dice
        self.errors = kind == "errors" or (kind in ("prices", "switching") and dice.random() < 0.5)
        self.alike = kind == "telling_apart"
        self.count = dice.choice([3, 3, 4]) if self.errors else dice.choice([3, 4, 4, 5, 5, 6])
        self.modes: list[str] = []

    def document(self) -> tuple[Plain, Rates]:
        dice = self.dice
        several = not self.alike and self.count < 5 and dice.random() < 0.5
        head = {
            "id": "small-decision", "title": "A small decision", "category": "test",
            "most_faults": 2 if several else 1, "two_faults_in_100": dice.choice([2, 5, 10]) if several else 0,
            "nothing_wrong_in_100": dice.choice([0, 1, 3, 5]), "unlisted_in_100": dice.choice([0.5, 1, 2, 3]),
        }
        components, remedies, parts = self.faulty()
        count = dice.choice([2, 3, 3, 4]) if self.errors else dice.randint(3, 9 - self.count if several else 6)
        signals, tests = self.looks(count)
        document = {"format": 1, "equipment": head, "components": components, "signals": signals, "tests": tests,
                    "remedies": remedies, "parts": parts}
        if self.kind == "switching":
            self.switch(document)
        trip = ALIKE if self.alike else dice.choice([60.0, 140.0, 140.0, 400.0])
        return document, Rates(dice.choice([40.0, 75.0, 75.0, 120.0]), trip, dice.choice([0.0, 30.0, 60.0]))

    def faulty(self) -> tuple[Plain, Plain, Plain]:
        dice = self.dice
        components: Plain = {}
        remedies: Plain = {}
        parts: Plain = {}
        for number in range(self.count):
            home = f"component_{number - 1}" if number and dice.random() < 0.2 else f"component_{number}"
            if home not in components:
                home = f"component_{number}"
                components[home] = {"title": home, "failure_modes": {}}
            shared = number > 0 and not self.alike and dice.random() < 0.15
            repair = f"repair_{number - shared}"
            if repair not in remedies:
                repair = f"repair_{number}"
                price = ALIKE if self.alike else self.price()
                remedies[repair] = {
                    "title": repair, "minutes": 10 if self.alike else dice.choice([2, 5, 10, 20, 40]),
                    "parts": {f"part_{number}": 1},
                }
                parts[f"part_{number}"] = {"number": str(number), "title": f"part {number}", "price": price}
            mode: Plain = {
                "title": "broken", "remedies": [repair],
                "calls_per_thousand": round(dice.choice([1, 3, 10, 30, 100]) * dice.uniform(1, 3), 1),
            }
            if self.errors and dice.random() < 0.15:
                mode["shows_in_100"] = dice.choice([30, 50, 80])
            components[home]["failure_modes"][f"mode_{number}"] = mode
            self.modes.append(f"{home}.mode_{number}")
        return components, remedies, parts

    def price(self) -> float:
        dice = self.dice
        if self.kind == "prices":
            return float(dice.choice([0, 2, 10, 40, 150, 600, 1500]))
        return float(dice.choice([5, 10, 20, 40, 80, 160]))

    def looks(self, count: int) -> tuple[Plain, Plain]:
        dice = self.dice
        signals: Plain = {}
        tests: Plain = {}
        for number in range(count):
            some = dice.sample(self.modes, dice.randint(1, len(self.modes) - 1))
            rules: list[Plain] = [{"when": {"any_fault": some}, "state": "off"}, {"state": "normal"}]
            states = ["normal", "off"]
            if dice.random() < 0.25:
                states.append("strange")
                rules.insert(0, {"when": {"any_fault": dice.sample(self.modes, 1)}, "state": "strange"})
            signals[f"signal_{number}"] = {"title": f"signal {number}", "states": states, "rules": rules}
            tests[f"test_{number}"] = {
                "title": f"test {number}", "reveals": f"signal_{number}", "outcomes": {s: [s] for s in states},
                "minutes": round(dice.choice([0, 1, 2, 5, 10, 20]) * dice.uniform(0.7, 1.3), 1),
                "right_in_100": dice.randint(70, 99) if self.errors else 100,
                "materials": dice.choice([0, 0, 0, 4]),
            }
        return signals, tests

    def switch(self, document: Plain) -> None:
        """A supply to lock out and a panel to take off; bringing the unit there may destroy evidence."""
        dice = self.dice
        document["unit_states"] = {
            "power": {"title": "power", "states": ["on", "off"], "usual": "on", "lockout": "off",
                      "minutes": {"on": dice.randint(1, 5), "off": dice.randint(1, 15)}},
            "panel": {"title": "panel", "states": ["shut", "open"], "usual": "shut",
                      "minutes": {"shut": dice.randint(1, 8), "open": dice.randint(1, 15)}},
        }
        for job in [*document["tests"].values(), *document["remedies"].values()]:
            power, panel = dice.choice([None, "on", "off", "off", "any"]), dice.choice([None, "shut", "open", "open"])
            job["needs"] = {n: s for n, s in (("power", power), ("panel", panel)) if s}
        signals = list(document["signals"])
        if dice.random() < 0.5:
            document["unit_states"]["power"]["disturbs"] = {"off": dice.sample(signals, 1)}
        if dice.random() < 0.5:
            job = dice.choice([*document["tests"].values(), *document["remedies"].values()])
            job["disturbs"] = dice.sample(signals, dice.randint(1, 2))
        if dice.random() < 0.5:
            remedy = dice.choice(list(document["remedies"].values()))
            remedy["verify"] = dice.choice(list(document["tests"]))
