"""The model of a graph document as a Bayesian network of single components, in pyAgrum.

Roots are the components, the conditions and whether the cause is unlisted; a running count of faults
carries a weight on each size, given as evidence on one node. Signals are deterministic nodes, built
again for every trial in which intermittent modes may show or not.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import product
from typing import Any

import numpy as np

from tests.published.described import FLOOR, SLIP, Description, Floats, Look, as_list, information
from tests.published.libraries import gum

Findings = Sequence[tuple[str, str | Mapping[str, int]]]
YES_NO = ("no", "yes")
CANNOT = "cannot_be_done"


class ComponentNetwork:
    """One document's network. Node names: `c:` condition, `x:` component, `on:` mode present."""

    def __init__(self, described: Description, known: Mapping[str, str]) -> None:
        self.described = described
        self.known = known
        self.net: Any = gum.BayesNet()
        self.labels: dict[str, tuple[str, ...]] = {}
        self.sets = described.fault_sets()
        self.gates = 0
        self.given: dict[str, int] = {"weight": 1}
        self._roots()
        self._weight()
        for condition, state in known.items():
            self.given[f"c:{condition}"] = self.labels[f"c:{condition}"].index(state)
        self.before = dict(self.given)

    def add(self, name: str, labels: Sequence[str], parents: Sequence[str], table: Floats) -> str:
        """A node; `table` has one axis a parent, in their order, and the node's own last."""
        self.net.add(gum.LabelizedVariable(name, name, list(labels)))
        for parent in parents:
            self.net.addArc(parent, name)
        order = (*range(len(parents) - 1, -1, -1), len(parents))
        self.net.cpt(name)[:] = np.ascontiguousarray(table.transpose(order))
        self.labels[name] = tuple(labels)
        return name

    def function(self, name: str, labels: Sequence[str], parents: Sequence[str], of: Callable[..., int]) -> str:
        """A deterministic node: `of` maps the parents' label numbers to its own."""
        sizes = [len(self.labels[p]) for p in parents]
        table = np.zeros([*sizes, len(labels)])
        for combo in product(*map(range, sizes)):
            table[(*combo, of(*combo))] = 1.0
        return self.add(name, labels, parents, table)

    def gate(self, parents: Sequence[str], of: Callable[..., bool]) -> str:
        """A yes/no function of some nodes, under a name of its own."""
        self.gates += 1
        return self.function(f"gate{self.gates}", YES_NO, parents, lambda *values: int(of(*values)))

    def chain(self, nodes: Sequence[str], of: Callable[[int, int], bool]) -> str:
        """A yes/no function folded over yes/no nodes, two at a time."""
        last = nodes[0]
        for node in nodes[1:]:
            last = self.gate([last, node], of)
        return last

    def _roots(self) -> None:
        d = self.described
        for name, shares in d.conditions.items():
            self.add(f"c:{name}", list(shares), [], np.array(list(shares.values())))
        self.add("unlisted", YES_NO, [], np.array([0.5, 0.5]))
        counted = []
        self.odds: dict[tuple[str, ...], list[str]] = {}
        for component, modes in d.components.items():
            for group in [[m] for m in modes] if d.coincide[component] else [modes]:
                name = f"x:{group[0]}" if d.coincide[component] else f"x:{component}"
                used = [c for c in d.shifting() if any(self._depends(m, c) for m in group)]
                labels = ["sound", *group]
                table = np.array([
                    [1.0, *(d.rate(d.modes[m], self._site(used, states)) / 1000 for m in group)]
                    for states in self._states(used)
                ])
                table /= table.sum(axis=1, keepdims=True)
                self.add(name, labels, [f"c:{c}" for c in used],
                         table.reshape(*(len(d.conditions[c]) for c in used), len(labels)))
                self.odds[tuple(group)] = used
                for i, mode in enumerate(group):
                    self.function(f"on:{mode}", YES_NO, [name], lambda x, i=i: int(x == i + 1))
                counted.append(self.gate([name], lambda x: x > 0))
        self.counted = counted
        sizes = [str(n) for n in range(d.most + 2)]
        self.function("count0", sizes, [counted[0]], lambda x: x)
        for i, node in enumerate(counted[1:]):
            self.function(f"count{i + 1}", sizes, [f"count{i}", node], lambda n, x: min(n + x, d.most + 1))

    def _depends(self, mode: str, condition: str) -> bool:
        m = self.described.modes[mode]
        return condition in m.raised or condition in {c for c, _ in m.only_if}

    def _states(self, conditions: Sequence[str]) -> list[tuple[str, ...]]:
        return list(product(*(self.described.conditions[c] for c in conditions)))

    def _site(self, conditions: Sequence[str], states: Sequence[str]) -> dict[str, str]:
        """All conditions, the named ones as given and the others, which don't matter, at their first."""
        site = {c: next(iter(s)) for c, s in self.described.conditions.items()}
        return site | dict(zip(conditions, states, strict=True))

    def _weight(self) -> None:
        """The node whose being `yes` gives each number of faults its share of the calls."""
        d = self.described
        used = d.shifting()
        table = np.zeros((*(len(d.conditions[c]) for c in used), 2, d.most + 2))
        for index, states in zip(np.ndindex(*table.shape[:-2]), self._states(used), strict=True):
            site = self._site(used, states)
            rates = d.rates(site)
            total = sum(rates.values())
            odds = 1.0
            for group in self.odds:
                odds *= 1 + sum(rates[m] for m in group) / 1000
            listed = 1 - d.nothing - d.unlisted
            table[(*index, 0, 0)] = d.nothing * odds
            table[(*index, 1, 0)] = (d.unlisted if total else d.unlisted + listed) * odds
            if total:
                factor = d.fault_factor(site) ** np.arange(d.most)
                scale = listed / float((factor * d.size_weights(site)).sum())
                relative = (1000 / total) ** np.arange(1, d.most + 1)
                table[(*index, 0, slice(1, d.most + 1))] = scale * factor * odds * relative
        table /= table.max()
        self.add("weight", YES_NO, [*(f"c:{c}" for c in used), "unlisted", f"count{len(self.counted) - 1}"],
                 np.stack([1 - table, table], axis=-1))

    def fault_set(self) -> str:
        """A node that names the whole set of faults, or that the cause is unlisted."""
        if "faults" not in self.labels:
            number = {frozenset(s): i for i, s in enumerate(self.sets)}
            nodes = [n for n in self.labels if n.startswith("x:")]

            def which(*values: int) -> int:
                names = frozenset(self.labels[n][v] for n, v in zip(nodes, values[1:], strict=True) if v)
                return len(self.sets) if values[0] else number.get(names, len(self.sets))

            labels = [*(f"set{i}" for i in range(len(self.sets))), "unlisted"]
            self.function("faults", labels, ["unlisted", *nodes], which)
        return "faults"

    def moody(self, name: str) -> list[str]:
        """The intermittent modes that a revealed name depends on."""
        needs = self.described.needs_of(name)
        return [m.name for m in self.described.modes.values() if m.name in needs and m.shows < 1]

    def seen(self, name: str, trial: str, shown: Mapping[str, str]) -> str:
        """The node of a signal, component or condition in one trial.

        `shown` maps intermittent modes to the nodes that say whether they are seen in this trial.
        """
        d = self.described
        if name in d.conditions:
            return f"c:{name}"
        tag = trial if any(m in shown for m in d.needs_of(name)) else "steady"
        node = f"s:{tag}:{name}"
        if node in self.labels:
            return node
        states = d.states(name)

        def on(mode: str) -> str:
            return shown.get(mode, f"on:{mode}")

        if name in d.components:
            branches = [(on(m), states.index(m.split(".")[1])) for m in d.components[name]]
            default = len(states) - 1
        else:
            branches = []
            for rule in d.signals[name]["rules"]:
                if "when" not in rule:
                    default = states.index(rule["state"])
                    break
                terms = []
                for key, value in rule["when"].items():
                    if key == "any_fault":
                        terms.append(self.chain([on(m) for m in value], lambda a, b: bool(a or b)))
                    elif key == "all_faults":
                        terms.append(self.chain([on(m) for m in value], lambda a, b: bool(a and b)))
                    else:
                        wanted = {d.states(key).index(s) for s in as_list(value)}
                        terms.append(self.gate([self.seen(key, trial, shown)], lambda s, wanted=wanted: s in wanted))
                branches.append((self.chain(terms, lambda a, b: bool(a and b)), states.index(rule["state"])))
        last = ""
        for k, (fires, state) in enumerate(reversed(branches)):
            final = node if k == len(branches) - 1 else f"{node}:{k}"
            if last:
                last = self.function(final, states, [fires, last], lambda f, s, state=state: state if f else s)
            else:
                last = self.function(final, states, [fires], lambda f, state=state: state if f else default)
        return last or self.function(node, states, ["unlisted"], lambda _: default)

    def trial(self, name: str, trial: str) -> str:
        """The state of `name` in a trial of its own: each intermittent mode present shows or not."""
        shown = {}
        for mode in self.moody(name):
            shows = self.described.modes[mode].shows
            shown[mode] = self.add(f"shows:{trial}:{mode}", YES_NO, [f"on:{mode}"],
                                   np.array([[1.0, 0.0], [1 - shows, shows]]))
        return self.seen(name, trial, shown)

    def procedure(self, look: Look, tag: str) -> str:
        """What the observation done as written gets to see: the first trial that differs from rest."""
        if look.sees_intermittent or not self.moody(look.reveals):
            return self.seen(look.reveals, "steady", {})
        if look.repeats == 1:
            return self.trial(look.reveals, tag)
        hidden = {m: self._never(m) for m in self.moody(look.reveals)}
        rest = self.seen(look.reveals, "rest", hidden)
        last = self.trial(look.reveals, f"{tag}:0")
        states = self.described.states(look.reveals)
        for i in range(1, look.repeats):
            again = self.trial(look.reveals, f"{tag}:{i}")
            last = self.function(f"so_far:{tag}:{i}", states, [last, rest, again], lambda a, r, b: b if a == r else a)
        return last

    def _never(self, mode: str) -> str:
        name = f"never:{mode}"
        return name if name in self.labels else self.add(name, YES_NO, [], np.array([1.0, 0.0]))

    def fits(self, look: Look) -> list[str]:
        """A node for whether the observation can be made, if it can't always be."""
        if not look.only_if:
            return []
        terms = []
        for condition, states in look.only_if.items():
            wanted = {self.described.states(condition).index(s) for s in states}
            terms.append(self.gate([f"c:{condition}"], lambda s, wanted=wanted: s in wanted))
        return [self.chain(terms, lambda a, b: bool(a and b))]

    def infer(self, given: Mapping[str, int]) -> Any:
        engine = gum.LazyPropagation(self.net)
        engine.setNumberOfThreads(1)
        engine.setEvidence(dict(given))
        return engine

    def predicted(self, node: str, fits: Sequence[str]) -> Floats:
        """The distribution of a node over the listed causes, with the known conditions."""
        given = {**self.before, "unlisted": 0, **dict.fromkeys(fits, 1)}
        engine = self.infer(given)
        engine.setTargets({node})
        try:
            engine.makeInference()
            return np.array(engine.posterior(node).toarray())
        except gum.IncompatibleEvidence:
            return np.full(len(self.labels[node]), 1 / len(self.labels[node]))

    def observe(self, look: Look, tag: str, as_finding: bool) -> str:
        """A node for one outcome of an observation.

        As a finding it has at least the floor under the unlisted cause, even where it can't be made.
        """
        state, fits = self.procedure(look, tag), self.fits(look)
        plain = self.add(f"listed:{tag}", look.outcomes, [state], look.chances)
        if look.reveals in self.described.conditions:
            outside = look.chances
        else:
            outside = np.repeat(self.predicted(plain, fits)[None, :], len(self.labels[state]), axis=0)
            outside = np.maximum(outside, FLOOR)
        if as_finding:
            outside = np.maximum(outside, FLOOR)
        outside = outside / outside.sum(axis=1, keepdims=True)
        table = np.zeros((len(self.labels[state]), 2, 2, len(look.outcomes) + 1))
        table[..., -1] = 1.0
        table[:, 0, 1] = np.pad(look.chances, ((0, 0), (0, 1)))
        table[:, 1, 1] = np.pad(outside, ((0, 0), (0, 1)))
        if as_finding:
            table[:, 1, 0] = [*(FLOOR for _ in look.outcomes), 1 - FLOOR * len(look.outcomes)]
        labels = [*look.outcomes, CANNOT]
        if fits:
            return self.add(f"o:{tag}", labels, [state, "unlisted", *fits], table)
        return self.add(f"o:{tag}", look.outcomes, [state, "unlisted"], table[:, :, 1, :-1])

    def series(self, look: Look, tag: str, counts: Mapping[str, int]) -> dict[str, int]:
        """Nodes for a series of trials; what to give them as evidence.

        How each state reads is settled once a series; every trial is on its own. The floor under the unlisted
        cause is relative to the best explanation of the series.
        """
        told = [o for o, n in counts.items() for _ in range(n)]
        states = self.described.states(look.reveals)
        slip = SLIP if len(set(told)) > 1 else 0.0
        reads = [self.add(f"reads:{tag}:{s}", look.outcomes, [], row)
                 for s, row in zip(states, look.chances, strict=True)]
        fits, width = self.fits(look), len(look.outcomes)
        given, nodes = {}, []
        steady = look.sees_intermittent or not self.moody(look.reveals)
        for i, outcome in enumerate(told):
            state = self.seen(look.reveals, "steady", {}) if steady else self.trial(look.reveals, f"{tag}:{i}")
            trial = np.zeros((len(states), *[width] * len(states), width))
            for combo in np.ndindex(*trial.shape[:-1]):
                trial[combo] = slip / width
                trial[(*combo, combo[1 + combo[0]])] += 1 - slip
            nodes.append(self.add(f"trial:{tag}:{i}", look.outcomes, [state, *reads], trial))
            given[nodes[-1]] = look.outcomes.index(outcome)
        listed = {**self.before, "unlisted": 0, **dict.fromkeys(fits, 1)}
        try:
            without = self.infer(listed).evidenceProbability()
            chance = self.infer({**listed, **given}).evidenceProbability() / without if without > 0 else 0.0
        except gum.IncompatibleEvidence:
            chance = 0.0
        best = self.described.best_series(look, counts, slip) if len(told) > 1 else 1.0
        floor = FLOOR * (best or 1.0)
        finding = {}
        for i, node in enumerate(nodes):
            table = np.zeros((width, 2, 2, 2))
            told_now = given[node]
            table[told_now, 0, 1, 1] = 1.0
            table[:, 1, 1, 1] = 1.0 if i else max(chance, floor)
            table[:, 1, 0, 1] = 1.0 if i else floor
            table[..., 0] = 1 - table[..., 1]
            name = f"told:{tag}:{i}"
            if fits:
                self.add(name, YES_NO, [node, "unlisted", *fits], table)
            else:
                self.add(name, YES_NO, [node, "unlisted"], table[:, :, 1])
            finding[name] = 1
        return finding

    def find(self, findings: Findings) -> None:
        """Take findings as evidence, each on nodes of its own."""
        taken: dict[str, int] = {}
        for i, (about, outcome) in enumerate(findings):
            look = self.described.looks[about]
            if isinstance(outcome, str):
                taken[self.observe(look, f"found{i}", as_finding=True)] = look.outcomes.index(outcome)
            else:
                taken |= self.series(look, f"found{i}", outcome)
        self.given |= taken

    def width(self, nodes: Sequence[str]) -> float:
        """Base-2 logarithm of the largest table that exact inference about these nodes would need."""
        kept = {self.net.idFromName(n) for n in [*nodes, *self.given]}
        waiting = list(kept)
        while waiting:
            new = set(self.net.parents(waiting.pop())) - kept
            kept |= new
            waiting += new
        part = gum.BayesNet()
        for node in kept:
            part.add(self.net.variable(node), node)
        for node in kept:
            for parent in self.net.parents(node):
                part.addArc(parent, node)
        tree = gum.JunctionTreeGenerator().junctionTree(part)
        return float(max(
            sum(np.log2(part.variable(v).domainSize()) for v in tree.clique(c)) for c in tree.nodes()))

    def posteriors(self, nodes: Sequence[str]) -> dict[str, Floats]:
        engine = self.infer(self.given)
        engine.setTargets(set(nodes))
        engine.makeInference()
        return {node: np.array(engine.posterior(node).toarray()) for node in nodes}

    def gains(self, look: Look, tag: str) -> tuple[float, float]:
        """Information in bits of a new observation about hypotheses and about remedy classes."""
        node, faults = self.observe(look, tag, as_finding=False), self.fault_set()
        engine = self.infer(self.given)
        conditions = [f"c:{c}" for c in self.described.conditions if f"c:{c}" not in self.given]
        engine.setTargets(set())
        engine.addJointTarget({faults, node, *conditions})
        engine.makeInference()
        tensor = engine.jointPosterior({faults, node, *conditions}).reorganize([node, *conditions, faults])
        joint = np.array(tensor.toarray()).reshape(len(self.labels[faults]), -1, len(self.labels[node]))
        joint = joint[..., : len(look.outcomes)]
        classes = [self.described.remedies(s) for s in self.sets]
        names: list[object] = [*dict.fromkeys(classes), "unlisted"]
        by_class = np.zeros((len(names), len(look.outcomes)))
        for row, called_for in zip(joint.sum(axis=1), [*classes, "unlisted"], strict=True):
            by_class[names.index(called_for)] += row
        return information(joint.reshape(-1, len(look.outcomes))), information(by_class)
