"""A graph document read anew, from the words of the design alone.

Nothing of the engine is used here, so that the engine has something to be compared with: the prior is
solved from generating polynomials by bisection, rules are evaluated front to back, and the trials of
intermittent modes are written out one by one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, product
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
FLOOR = 1e-9
"""The unlisted cause gives any finding at least this chance."""
SLIP = 0.001
"""Chance that one trial of a mixed series was misread."""


def as_list(states: str | Sequence[str]) -> list[str]:
    return [states] if isinstance(states, str) else list(states)


@dataclass(frozen=True)
class Mode:
    name: str
    component: str
    rate: float
    shows: float
    raised: Mapping[str, Mapping[str, float]]
    only_if: tuple[tuple[str, list[str]], ...]
    remedy: str


@dataclass(frozen=True)
class Look:
    """A symptom or test: `chances[s, o]` is the chance of outcome o in state s of what it reveals."""

    name: str
    reveals: str
    outcomes: tuple[str, ...]
    chances: Floats
    only_if: Mapping[str, list[str]]
    repeats: int
    sees_intermittent: bool


class Description:
    """What a document says."""

    def __init__(self, data: Mapping[str, Any]) -> None:
        head = data["equipment"]
        self.most = int(head.get("most_faults", 2))
        self.coincidence = head.get("two_faults_in_100", 3) / 100
        self.nothing = head.get("nothing_wrong_in_100", 3) / 100
        self.unlisted = head.get("unlisted_in_100", 2) / 100
        self.conditions: dict[str, dict[str, float]] = {}
        for name, condition in data.get("conditions", {}).items():
            total = sum(condition["states"].values())
            self.conditions[name] = {s: share / total for s, share in condition["states"].items()}
        self.components: dict[str, list[str]] = {}
        self.coincide: dict[str, bool] = {}
        self.modes: dict[str, Mode] = {}
        for name, component in data["components"].items():
            self.components[name] = [f"{name}.{m}" for m in component["failure_modes"]]
            self.coincide[name] = component.get("can_coincide", False)
            for short, mode in component["failure_modes"].items():
                needs = [*component.get("only_if", {}).items(), *mode.get("only_if", {}).items()]
                self.modes[f"{name}.{short}"] = Mode(
                    f"{name}.{short}", name, mode["calls_per_thousand"], mode.get("shows_in_100", 100) / 100,
                    mode.get("raised_by", {}), tuple((c, as_list(s)) for c, s in needs), mode["remedies"][0],
                )
        self.signals: dict[str, Any] = dict(data.get("signals", {}))
        self.needs: dict[str, frozenset[str]] = {}
        self.looks: dict[str, Look] = {}
        for name, symptom in data.get("symptoms", {}).items():
            self.looks[name] = self._symptom(name, symptom)
        for name, test in data.get("tests", {}).items():
            self.looks[name] = self._test(name, test)

    def states(self, name: str) -> list[str]:
        """The states of a signal, a condition or a component."""
        if name in self.signals:
            return list(self.signals[name]["states"])
        if name in self.conditions:
            return list(self.conditions[name])
        return [*(m.split(".")[1] for m in self.components[name]), "sound"]

    def _symptom(self, name: str, symptom: Mapping[str, Any]) -> Look:
        (about, shown), = symptom["shows"].items()
        yes = symptom.get("reported_in_100", 90) / 100
        slip = symptom.get("misreported_in_100", 3) / 100
        said = np.array([yes if s in as_list(shown) else slip for s in self.states(about)])
        return Look(
            name, about, ("present", "absent"), np.stack([said, 1 - said], axis=1),
            {c: as_list(s) for c, s in symptom.get("only_if", {}).items()}, 1,
            symptom.get("sees_intermittent", False),
        )

    def _test(self, name: str, test: Mapping[str, Any]) -> Look:
        outcomes = list(test["outcomes"])
        right = test.get("right_in_100", 97) / 100
        rows = []
        for state in self.states(test["reveals"]):
            if state in test.get("chances", {}):
                given = np.array([test["chances"][state].get(o, 0) for o in outcomes], dtype=float)
                rows.append(given / given.sum())
                continue
            listed = {o: w["states"] if isinstance(w, dict) else w for o, w in test["outcomes"].items()}
            hits = [o for o, w in listed.items() if w != "otherwise" and state in w]
            hits = hits or [o for o, w in listed.items() if w == "otherwise"]
            row = np.full(len(outcomes), (1 - right) / (len(outcomes) - 1))
            row[outcomes.index(hits[0])] = right
            rows.append(row)
        return Look(
            name, test["reveals"], tuple(outcomes), np.array(rows),
            {c: as_list(s) for c, s in test.get("only_if", {}).items()}, test.get("repeats", 1),
            test.get("sees_intermittent", False),
        )

    def rate(self, mode: Mode, site: Mapping[str, str]) -> float:
        """Calls per thousand of a mode where the conditions are as `site` says."""
        if any(site[c] not in states for c, states in mode.only_if):
            return 0.0
        factors = [f for c, by_state in mode.raised.items() for s, f in by_state.items() if site[c] == s]
        return mode.rate * float(np.prod(factors))

    def rates(self, site: Mapping[str, str]) -> dict[str, float]:
        return {name: self.rate(mode, site) for name, mode in self.modes.items()}

    def size_weights(self, site: Mapping[str, str]) -> Floats:
        """e_1..e_K: the summed products of relative rates over the sets of each size."""
        rates = self.rates(site)
        total = sum(rates.values()) or 1.0
        sums = np.zeros(self.most + 1)
        sums[0] = 1.0
        for component, modes in self.components.items():
            shares = [rates[m] / total for m in modes]
            for share in shares if self.coincide[component] else [sum(shares)]:
                sums[1:] = sums[1:] + share * sums[:-1]
        return sums[1:]

    def fault_factor(self, site: Mapping[str, str]) -> float:
        """The weight of each further fault that gives coincidences their share of the calls."""
        weights = self.size_weights(site)
        share = self.coincidence / (1 - self.nothing - self.unlisted)
        if share <= 0 or weights[1:].max(initial=0.0) <= 0:
            return 0.0
        low, high = -80.0, 80.0
        for _ in range(200):
            middle = (low + high) / 2
            terms = np.exp(middle * np.arange(self.most)) * weights
            low, high = (low, middle) if terms[1:].sum() / terms.sum() > share else (middle, high)
        return float(np.exp((low + high) / 2))

    def shifting(self) -> list[str]:
        """The conditions that a rate depends on."""
        used = {c for m in self.modes.values() for c in [*m.raised, *(c for c, _ in m.only_if)]}
        return [c for c in self.conditions if c in used]

    def fault_sets(self) -> list[tuple[str, ...]]:
        """Every set of failure modes that may be present together."""
        found: list[tuple[str, ...]] = []
        for size in range(self.most + 1):
            for some in combinations(self.modes, size):
                homes = [self.modes[m].component for m in some if not self.coincide[self.modes[m].component]]
                if len(homes) == len(set(homes)):
                    found.append(some)
        return found

    def prior(self, sets: Sequence[tuple[str, ...]], site: Mapping[str, str]) -> Floats:
        """P(each set), then P(unlisted), where the conditions are as `site` says."""
        rates = self.rates(site)
        total = sum(rates.values())
        listed = 1 - self.nothing - self.unlisted
        chances = np.zeros(len(sets) + 1)
        if total > 0:
            factor = self.fault_factor(site)
            weights = self.size_weights(site)
            scale = listed / float((factor ** np.arange(self.most) * weights).sum())
            for i, some in enumerate(sets):
                if some:
                    chances[i] = scale * factor ** (len(some) - 1) * np.prod([rates[m] / total for m in some])
        chances[sets.index(())] = self.nothing
        chances[-1] = self.unlisted if total > 0 else self.unlisted + listed
        return chances

    def needs_of(self, name: str) -> frozenset[str]:
        """Everything a signal, component or condition depends on: modes, signals, conditions, itself."""
        if name not in self.needs:
            found = {name}
            if name in self.components:
                found.update(self.components[name])
            for rule in self.signals[name]["rules"] if name in self.signals else ():
                for key, value in rule.get("when", {}).items():
                    found.update(value if key in ("any_fault", "all_faults") else self.needs_of(key))
            self.needs[name] = frozenset(found)
        return self.needs[name]

    def conditions_of(self, look: Look) -> list[str]:
        """The conditions that the result of an observation depends on, given the faults."""
        used = self.needs_of(look.reveals) | set(look.only_if)
        return [c for c in self.conditions if c in used]

    def evaluate(self, present: Bools, site: Mapping[str, Ints], wanted: Iterable[str]) -> dict[str, Ints]:
        """State numbers (N) of the wanted names, for N machines with these modes present (N x M)."""
        known: dict[str, Ints] = {}
        column = {m: present[:, i] for i, m in enumerate(self.modes)}

        def state(name: str) -> Ints:
            if name not in known:
                if name in self.conditions:
                    known[name] = site[name]
                elif name in self.components:
                    modes = self.components[name]
                    known[name] = np.select([column[m] for m in modes], list(range(len(modes))), len(modes))
                else:
                    rules = self.signals[name]["rules"]
                    states = self.states(name)
                    matches = [matching(rule.get("when")) for rule in rules]
                    known[name] = np.select(matches, [states.index(rule["state"]) for rule in rules])
            return known[name]

        def matching(when: Mapping[str, Any] | None) -> Bools:
            fits: Bools = np.ones(len(present), dtype=bool)
            for key, value in (when or {}).items():
                if key == "any_fault":
                    fits = fits & np.any([column[m] for m in value], axis=0)
                elif key == "all_faults":
                    fits = fits & np.all([column[m] for m in value], axis=0)
                else:
                    numbers = [self.states(key).index(s) for s in as_list(value)]
                    fits = fits & np.isin(state(key), numbers)
            return fits

        return {name: state(name) for name in wanted}

    def activations(self, present: Bools) -> tuple[Ints, Bools, Floats]:
        """Each way the intermittent modes of N machines can show or not in one trial.

        Returns the machine, what shows (as `present`) and the chance of each way.
        """
        shows = np.array([m.shows for m in self.modes.values()])
        rows, seen, weight = [], [], []
        for i, machine in enumerate(present):
            moody = np.flatnonzero(machine & (shows < 1))
            for showing in product((True, False), repeat=len(moody)):
                now = machine.copy()
                now[moody] = showing
                rows.append(i)
                seen.append(now)
                weight.append(float(np.prod(np.where(showing, shows[moody], 1 - shows[moody]))))
        return np.array(rows), np.array(seen), np.array(weight)

    def trials(
        self, present: Bools, site: Mapping[str, Ints], name: str, ways: tuple[Ints, Bools, Floats] | None = None
    ) -> tuple[Floats, Ints]:
        """The distribution over the states of `name` in one trial, and its state while nothing shows."""
        rows, seen, weight = self.activations(present) if ways is None else ways
        mix = np.zeros((len(present), len(self.states(name))))
        state = self.evaluate(seen, {c: s[rows] for c, s in site.items()}, [name])[name]
        np.add.at(mix, (rows, state), weight)
        shows = np.array([m.shows for m in self.modes.values()])
        return mix, self.evaluate(present & (shows == 1), site, [name])[name]

    def procedure(
        self, look: Look, present: Bools, site: Mapping[str, Ints], ways: tuple[Ints, Bools, Floats] | None = None
    ) -> Floats:
        """P(outcome) of the observation done as written, for N machines with listed causes only."""
        if look.sees_intermittent or look.reveals in self.conditions:
            return look.chances[self.evaluate(present, site, [look.reveals])[look.reveals]]
        mix, rest = self.trials(present, site, look.reveals, ways)
        rows = np.arange(len(mix))
        last = np.zeros_like(mix)
        last[rows, rest] = 1.0
        for _ in range(look.repeats):
            stays = mix[rows, rest][:, None]
            first = mix.copy()
            first[rows, rest] = 0.0
            last = first + stays * last
        return np.asarray(last @ look.chances)

    def best_series(self, look: Look, counts: Mapping[str, int], slip: float) -> float:
        """The chance of a series of trials where it is highest: in one state, or in a mixture that can be."""
        sets, modes = self.fault_sets(), list(self.modes)
        present = np.array([[m in some for m in modes] for some in sets])
        mixes = [np.eye(len(self.states(look.reveals)))]
        if not look.sees_intermittent:
            for numbers in product(*(range(len(states)) for states in self.conditions.values())):
                site = {c: list(self.conditions[c])[i] for c, i in zip(self.conditions, numbers, strict=True)}
                can_be = self.prior(sets, site)[:-1] > 0
                ways = {c: np.full(can_be.sum(), i) for c, i in zip(self.conditions, numbers, strict=True)}
                mixes.append(self.trials(present[can_be], ways, look.reveals)[0])
        best = 0.0
        for mix in np.unique(np.round(np.concatenate(mixes), 12), axis=0):
            states = np.flatnonzero(mix)
            chance = 0.0
            for reads in product(range(len(look.outcomes)), repeat=len(states)):
                weight = float(np.prod(look.chances[states, reads]))
                for outcome, times in counts.items():
                    told = mix[states][np.array(reads) == look.outcomes.index(outcome)].sum()
                    weight *= ((1 - slip) * told + slip / len(look.outcomes)) ** times
                chance += weight
            best = max(best, chance)
        return best

    def remedies(self, some: Iterable[str]) -> frozenset[str]:
        """The usual remedies that a set of failure modes calls for."""
        return frozenset(self.modes[m].remedy for m in some)


def information(joint: Floats) -> float:
    """Mutual information in bits between the rows and the columns of a joint table of any total."""
    def spread(mass: Floats) -> float:
        kept = mass[mass > 0]
        return float((kept * np.log2(kept)).sum())

    return spread(joint) - spread(joint.sum(axis=0)) - spread(joint.sum(axis=1)) + spread(np.array([joint.sum()]))
