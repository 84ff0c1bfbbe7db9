"""The meaning of a graph document, counted out one possibility at a time.

A second reading of what the document means, in plain loops over every set of faults, every joint
state of the conditions and every way intermittent modes may show. It is slow, shares nothing with
the engine and takes the document as its author wrote it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations, product
from math import comb, exp, log, log2, prod
from typing import Any, NamedTuple

Plain = Mapping[str, Any]
Said = tuple[str, str | Mapping[str, int]]
"""What was found about what: one outcome, or how often each came up."""
Spread = dict[str, float]

LEAST = 1e-9
"""What is not in the graph may always have done it: no finding is less likely of it."""
MISREAD = 0.001
WRONG_VERDICT = 0.02
SAID_NOTHING = {"not_done", "could_not_tell", "skipped"}


class Possibility(NamedTuple):
    """What may be wrong (None: something that is not in the graph), where, and how likely."""

    faults: frozenset[str] | None
    conditions: tuple[tuple[str, str], ...]
    chance: float


def as_list(value: Any) -> list[str]:
    return [value] if isinstance(value, str) else list(value)


class Counting:
    """One document."""

    def __init__(self, document: Plain) -> None:
        self.document = document
        self.components: Plain = document["components"]
        self.signals: Plain = document.get("signals", {})
        self.conditions: Plain = document.get("conditions", {})
        self.observations: dict[str, Plain] = {**document.get("symptoms", {}), **document.get("tests", {})}
        self.remedies: Plain = document["remedies"]
        self.modes: dict[str, Plain] = {
            f"{c}.{m}": {**mode, "component": c, "where": component.get("only_if", {})}
            for c, component in self.components.items()
            for m, mode in component["failure_modes"].items()
        }
        self._states: dict[Any, str] = {}
        self._trials: dict[Any, tuple[Spread, str]] = {}
        self._best: dict[Any, float] = {}
        self.in_rules = {
            n for s in self.signals.values() for r in s["rules"] for n in r.get("when", {}) if n in self.conditions
        }
        only_if = {c for o in self.observations.values() for c in o.get("only_if", {})}
        self.in_sight = self.in_rules | only_if | {self.about(o) for o in self.observations.values()}
        self._heard: dict[Any, float] = {}
        self._listed: list[Possibility] = []
        self.prior = list(self._prior())

    # --- what may be wrong -------------------------------------------------------------------

    def _mattering(self) -> list[str]:
        """The conditions that anything depends on."""
        named = set(self.in_rules)
        for mode in self.modes.values():
            named |= {*mode.get("raised_by", {}), *mode.get("only_if", {}), *mode["where"]}
        for observation in self.observations.values():
            named |= {self.about(observation), *observation.get("only_if", {})}
        return [c for c in self.conditions if c in named]

    def _sets(self) -> Iterator[frozenset[str]]:
        most = self.document["equipment"].get("most_faults", 2)
        for size in range(min(most, len(self.modes)) + 1):
            for chosen in combinations(self.modes, size):
                homes = [self.modes[m]["component"] for m in chosen]
                if all(homes.count(h) == 1 or self.components[h].get("can_coincide") for h in homes):
                    yield frozenset(chosen)

    def rate(self, mode: str, where: Mapping[str, str]) -> float:
        record = self.modes[mode]
        if not (self.holds(record["where"], where) and self.holds(record.get("only_if", {}), where)):
            return 0.0
        raised = record.get("raised_by", {})
        factors: list[float] = [f.get(where[c], 1.0) for c, f in raised.items()]
        return float(record["calls_per_thousand"]) * prod(factors)

    @staticmethod
    def holds(needs: Plain, where: Mapping[str, str]) -> bool:
        return all(where[c] in as_list(states) for c, states in needs.items())

    def _prior(self) -> Iterator[Possibility]:
        shares = self.document["equipment"]
        nothing = shares.get("nothing_wrong_in_100", 3) / 100
        unlisted = shares.get("unlisted_in_100", 2) / 100
        several = shares.get("two_faults_in_100", 3) / 100
        sets = list(self._sets())
        names = self._mattering()
        for states in product(*(self.conditions[n]["states"] for n in names)):
            where = dict(zip(names, states, strict=True))
            share = prod(
                self.conditions[n]["states"][s] / sum(self.conditions[n]["states"].values()) for n, s in where.items()
            )
            rates = {m: self.rate(m, where) for m in self.modes}
            total = sum(rates.values())
            weights = {d: prod(rates[m] / total for m in d) if total else 0.0 for d in sets if d}
            factor = self._factor(weights, several / (1 - nothing - unlisted))
            listed = {d: w * factor ** (len(d) - 1) for d, w in weights.items()}
            known = tuple(where.items())
            yield Possibility(frozenset(), known, share * nothing)
            mass = sum(listed.values())
            for faults, weight in listed.items():
                if weight > 0:
                    yield Possibility(faults, known, share * (1 - nothing - unlisted) * weight / mass)
            yield Possibility(None, known, share * (unlisted if mass else 1 - nothing))

    @staticmethod
    def _factor(weights: Mapping[frozenset[str], float], several: float) -> float:
        """By bisection: the factor a further fault that gives calls with several faults their share."""
        if several <= 0 or not any(w > 0 and len(d) > 1 for d, w in weights.items()):
            return 0.0
        low, high = -60.0, 60.0
        for _ in range(200):
            middle = (low + high) / 2
            masses = [(len(d), w * exp(middle) ** (len(d) - 1)) for d, w in weights.items()]
            share = sum(m for n, m in masses if n > 1) / sum(m for _, m in masses)
            low, high = (middle, high) if share < several else (low, middle)
        return exp(low)

    # --- what can be seen of it --------------------------------------------------------------

    def state(self, name: str, faults: frozenset[str], where: tuple[tuple[str, str], ...]) -> str:
        """The state of a signal, component or condition while exactly these faults show."""
        key = (name, faults, where)
        if key not in self._states:
            self._states[key] = self._state(name, faults, where)
        return self._states[key]

    def _state(self, name: str, faults: frozenset[str], where: tuple[tuple[str, str], ...]) -> str:
        if name in self.conditions:
            return dict(where)[name]
        if name in self.components:
            return next((m for m in self.components[name]["failure_modes"] if f"{name}.{m}" in faults), "sound")
        for rule in self.signals[name]["rules"]:
            when = dict(rule.get("when", {}))
            alternatives, together = when.pop("any_fault", []), when.pop("all_faults", [])
            if (
                (not alternatives or any(m in faults for m in alternatives))
                and all(m in faults for m in together)
                and all(self.state(n, faults, where) in as_list(states) for n, states in when.items())
            ):
                return str(rule["state"])
        raise AssertionError(f"no rule of {name} matches")

    def shows(self, mode: str) -> float:
        return float(self.modes[mode].get("shows_in_100", 100)) / 100

    def trial(self, name: str, possibility: Possibility, always: bool) -> tuple[Spread, str]:
        """The states one trial may meet, and the state while no intermittent mode shows."""
        assert possibility.faults is not None
        where = tuple((c, s) for c, s in possibility.conditions if c in self.in_rules or c == name)
        now_and_then = [] if always else sorted(m for m in possibility.faults if self.shows(m) < 1)
        steady = possibility.faults - set(now_and_then)
        key = (name, possibility.faults, where, always)
        if key not in self._trials:
            spread: Spread = defaultdict(float)
            for showing in product((True, False), repeat=len(now_and_then)):
                seen = steady | {m for m, is_shown in zip(now_and_then, showing, strict=True) if is_shown}
                chance = prod(
                    self.shows(m) if s else 1 - self.shows(m) for m, s in zip(now_and_then, showing, strict=True)
                )
                spread[self.state(name, frozenset(seen), where)] += chance
            self._trials[key] = dict(spread), self.state(name, frozenset(steady), where)
        return self._trials[key]

    # --- what is said about it ---------------------------------------------------------------

    @staticmethod
    def about(observation: Plain) -> str:
        return str(observation["reveals"] if "reveals" in observation else next(iter(observation["shows"])))

    def outcomes(self, observation: Plain) -> list[str]:
        return list(observation["outcomes"]) if "outcomes" in observation else ["present", "absent"]

    def reads(self, observation: Plain, state: str) -> Spread:
        """How often each outcome comes up in one state."""
        if "shows" in observation:
            shown = state in as_list(observation["shows"][self.about(observation)])
            field, usual = ("reported_in_100", 90) if shown else ("misreported_in_100", 3)
            yes = observation.get(field, usual) / 100
            return {"present": yes, "absent": 1 - yes}
        names = self.outcomes(observation)
        if state in observation.get("chances", {}):
            given = observation["chances"][state]
            return {o: given.get(o, 0) / sum(given.values()) for o in names}
        right = observation.get("right_in_100", 97) / 100
        true = rest = ""
        for name, outcome in observation["outcomes"].items():
            states = outcome["states"] if isinstance(outcome, Mapping) else outcome
            if states == "otherwise":
                rest = name
            elif state in states:
                true = name
        return {o: right if o == (true or rest) else (1 - right) / (len(names) - 1) for o in names}

    def once(self, observation: Plain, possibility: Possibility) -> Spread:
        """The chance of each outcome when it is done as described, all its repeats."""
        always = observation.get("sees_intermittent", False)
        spread, rest = self.trial(self.about(observation), possibility, always)
        times = observation.get("repeats", 1)
        met: Spread = {rest: spread.get(rest, 0.0) ** times}
        for state, chance in spread.items():
            if state != rest:
                met[state] = sum(spread.get(rest, 0.0) ** k * chance for k in range(times))
        result: Spread = dict.fromkeys(self.outcomes(observation), 0.0)
        for state, chance in met.items():
            for outcome, share in self.reads(observation, state).items():
                result[outcome] += chance * share
        return result

    def series(self, observation: Plain, possibility: Possibility, counts: Mapping[str, int]) -> float:
        """The chance of a series of trials, over that under its best explanation."""
        spread, _ = self.trial(self.about(observation), possibility, observation.get("sees_intermittent", False))
        chance = self.series_of(observation, spread, counts)
        return chance / self.best(observation, counts) if sum(counts.values()) > 1 and chance > 0 else chance

    def best(self, observation: Plain, counts: Mapping[str, int]) -> float:
        """The chance of a series of trials where it is highest: in one state, or in any mix of them that can be."""
        about, always = self.about(observation), observation.get("sees_intermittent", False)
        key = (repr(observation), repr(counts))
        if key not in self._best:
            states = self.states_of(about)
            spreads = {tuple(self.trial(about, p, always)[0].items()) for p in self.prior if p.faults is not None}
            spreads |= {((state, 1.0),) for state in states}
            self._best[key] = max(self.series_of(observation, dict(spread), counts) for spread in spreads)
        return self._best[key]

    def states_of(self, name: str) -> list[str]:
        if name in self.components:
            return [*self.components[name]["failure_modes"], "sound"]
        return list((self.signals.get(name) or self.conditions[name])["states"])

    def series_of(self, observation: Plain, spread: Spread, counts: Mapping[str, int]) -> float:
        """The chance of a series of trials in one order; a reading error lasts as long as the series."""
        outcomes = self.outcomes(observation)
        slip = MISREAD if sum(n > 0 for n in counts.values()) > 1 else 0.0
        chance = 0.0
        for reading in product(outcomes, repeat=len(spread)):
            weight = prod(self.reads(observation, s)[o] for s, o in zip(spread, reading, strict=True))
            for outcome, times in counts.items():
                hit = sum(p for p, o in zip(spread.values(), reading, strict=True) if o == outcome)
                weight *= ((1 - slip) * hit + slip / len(outcomes)) ** times
            chance += weight
        return chance

    def fits(self, observation: Plain, possibility: Possibility) -> bool:
        return self.holds(observation.get("only_if", {}), dict(possibility.conditions))

    def heard(self, name: str, said: Sequence[str | Mapping[str, int]], possibility: Possibility) -> float:
        """The chance of all that was said of one observation about one lasting state of affairs."""
        where = tuple((c, s) for c, s in possibility.conditions if c in self.in_sight)
        key = (name, repr(said), possibility.faults, where)
        if key not in self._heard:
            self._heard[key] = self._hear(name, said, possibility)
        return self._heard[key]

    def _hear(self, name: str, said: Sequence[str | Mapping[str, int]], possibility: Possibility) -> float:
        observation = self.observations[name]
        if not self.fits(observation, possibility):
            return 0.0
        about = self.about(observation)
        if about in self.conditions:
            last = said[-1]
            outcome = last if isinstance(last, str) else list(last)[-1]
            return self.reads(observation, dict(possibility.conditions)[about])[outcome]
        if possibility.faults is None:
            reached = [p for p in self._listed if self.fits(observation, p)]
            mass = sum(p.chance for p in reached)
            heard = sum(p.chance * self.heard(name, said, p) for p in reached)
            return max(LEAST, heard / mass if mass > 0 else 0.0)
        spread, _ = self.trial(about, possibility, observation.get("sees_intermittent", False))
        counted = said[-1:] if len(spread) == 1 else said
        return prod(
            self.once(observation, possibility)[s] if isinstance(s, str) else self.series(observation, possibility, s)
            for s in counted
        )

    def verdict(self, outcome: str, faults: frozenset[str] | None) -> float:
        if outcome == "done":
            return 1.0
        quiet = 0.0 if faults is None else prod(1 - self.shows(m) for m in faults)
        runs = quiet * (1 - WRONG_VERDICT) + (1 - quiet) * WRONG_VERDICT
        return runs if outcome == "runs" else 1 - runs

    # --- what is believed --------------------------------------------------------------------

    def believe(self, findings: Iterable[Said], known: Mapping[str, str] | None = None) -> list[Possibility]:
        """What is left to find, and how likely each of it is."""
        prior = [p for p in self.prior if all(dict(p.conditions).get(c, s) == s for c, s in (known or {}).items())]
        total = sum(p.chance for p in prior)
        prior = [p._replace(chance=p.chance / total) for p in prior]
        self._listed = [p for p in prior if p.faults is not None]
        self._heard.clear()
        stages: list[tuple[str, int, frozenset[str], list[str | Mapping[str, int]]]] = []
        verdicts: list[tuple[str, frozenset[str]]] = []
        gone: frozenset[str] = frozenset()
        done = 0
        for about, outcome in findings:
            counts: Any = outcome
            if isinstance(outcome, Mapping):
                counts = {o: n for o, n in outcome.items() if n > 0 and o not in SAID_NOTHING}
            if not counts or (isinstance(counts, str) and counts in SAID_NOTHING):
                continue
            if about in self.remedies:
                gone |= {m for m, mode in self.modes.items() if about in mode["remedies"]}
                done += 1
                verdicts.append((next(iter(counts)) if isinstance(counts, Mapping) else counts, gone))
                continue
            said = next((s for a, n, _, s in stages if (a, n) == (about, done)), None)
            if said is None:
                stages.append((about, done, gone, said := []))
            said.append(counts)
        after = []
        for before in prior:
            chance = before.chance
            for about, _, removed, said in stages:
                left = before if before.faults is None else before._replace(faults=before.faults - removed)
                likely = self.heard(about, said, left)
                chance *= max(LEAST, likely) if left.faults is None else likely
            for outcome, removed in verdicts:
                chance *= self.verdict(outcome, None if before.faults is None else before.faults - removed)
            after.append(before._replace(faults=None if before.faults is None else before.faults - gone, chance=chance))
        total = sum(p.chance for p in after)
        return [p._replace(chance=p.chance / total) for p in after]

    def shares(self, possibilities: Iterable[Possibility], condition: str) -> Spread:
        shares: Spread = dict.fromkeys(self.conditions[condition]["states"], 0.0)
        for possibility in possibilities:
            shares[dict(possibility.conditions)[condition]] += possibility.chance
        return shares

    def repair(self, faults: frozenset[str] | None) -> tuple[str, ...] | None:
        """What puts it right: hypotheses with the same answer are one class."""
        return None if faults is None else tuple(sorted({self.modes[m]["remedies"][0] for m in faults}))

    def gains(self, name: str, possibilities: Sequence[Possibility]) -> tuple[float, float]:
        """Bits that an observation gives on the repair, and on the hypotheses."""
        observation = self.observations[name]
        by_repair: dict[Any, Spread] = defaultdict(lambda: defaultdict(float))
        by_cause: dict[Any, Spread] = defaultdict(lambda: defaultdict(float))
        for possibility in possibilities:
            if possibility.chance == 0 or not self.fits(observation, possibility):
                continue
            chances = {o: self.heard(name, [o], possibility) for o in self.outcomes(observation)}
            for outcome, chance in chances.items():
                joint = possibility.chance * chance / sum(chances.values())
                by_repair[self.repair(possibility.faults)][outcome] += joint
                by_cause[possibility.faults, possibility.conditions][outcome] += joint
        return shared_bits(by_repair), shared_bits(by_cause)


def shared_bits(table: Mapping[Any, Mapping[str, float]]) -> float:
    """Mutual information of the rows and columns of a table of joint chances, in bits."""
    total = sum(sum(row.values()) for row in table.values())
    columns: Spread = defaultdict(float)
    for row in table.values():
        for name, chance in row.items():
            columns[name] += chance
    return sum(
        chance * log2(chance * total / (sum(row.values()) * columns[name]))
        for row in table.values()
        for name, chance in row.items()
        if chance > 1e-300
    )


def entropy(chances: Iterable[float]) -> float:
    """In bits."""
    return -sum(p * log(p) for p in chances if p > 0) / log(2)


def ways(counts: Iterable[int]) -> int:
    """In how many orders a series with these counts may have come."""
    result, total = 1, 0
    for count in counts:
        total += count
        result *= comb(total, count)
    return result
