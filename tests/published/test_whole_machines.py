"""Check value 9 on whole machines: pyAgrum agrees to 1e-9 on every fixture equipment.

Two networks. In the first one variable names the whole set of faults, its prior enumerated here from
the document; every symptom and test is a child of it, so that the gain of every observation can be
compared. The second (networks.py) has a root a component and knows nothing of sets; it is slower,
so fewer cases go through it. Computed here and now, nothing remembered.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from itertools import product
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pytest
from scipy import sparse
from scipy.special import xlogy

from graph.compile import CompiledModel, compile_model
from graph.readings.cuts import cut
from schemas.load import load_text
from tests.documents import in_full
from tests.published.asking import ask, worth
from tests.published.described import FLOOR, Description, Floats, Ints, Look
from tests.published.libraries import gum
from tests.published.networks import ComponentNetwork

MACHINES = sorted(Path(__file__).parents[2].glob("fixtures/equipment/*.yaml"))
CONTEXTS, CASES = 6, 36
"""On the ice maker; a third as many of each on the others, which are larger."""
COMPONENT_CASES = 20
WIDEST = 16
"""Tables of at most 2^16 numbers: signals that everything feeds into need 2^50 in such a network."""
TOLERANCE = 1e-9
CELLS = 5e-3
"""Bits that the gain of a reading over repairs may be off: cells that tell nearly the same there are one."""


class Machine:
    """One document: its compiled model, and the tables of every observation by the reference reading."""

    def __init__(self, path: Path) -> None:
        text = path.read_text(encoding="utf-8")
        self.model: CompiledModel = compile_model(load_text(text, path.name))
        self.described = d = Description(in_full(path))
        self.sets = d.fault_sets()
        self.sites = list(product(*(range(len(s)) for s in d.conditions.values())))
        position = {m: i for i, m in enumerate(d.modes)}
        self.present = np.zeros((len(self.sets), len(d.modes)), dtype=bool)
        for row, some in enumerate(self.sets):
            self.present[row, [position[m] for m in some]] = True
        self.ways = d.activations(self.present)
        self.share = np.array([
            np.prod([list(s.values())[i] for s, i in zip(d.conditions.values(), site, strict=True)])
            for site in self.sites
        ])
        self.prior = np.array([d.prior(self.sets, self.site(numbers)) for numbers in self.sites])
        self.read = {name: self.gauge(look) for name, look in d.looks.items()
                     if self.model.equipment.observations[name].reading is not None}
        self.listed = {name: self.table(look) for name, look in d.looks.items()}
        self.listed_cells = {name: self.table(look) for name, look in self.read.items()}
        kinds = [*(d.remedies(some) for some in self.sets), "unlisted"]
        names: list[object] = list(dict.fromkeys(kinds))
        self.gather = sparse.csr_array(
            (np.ones(len(kinds)), ([names.index(kind) for kind in kinds], np.arange(len(kinds)))))

    def site(self, numbers: tuple[int, ...]) -> dict[str, str]:
        d = self.described
        return {c: list(s)[i] for (c, s), i in zip(d.conditions.items(), numbers, strict=True)}

    def gauge(self, look: Look) -> Look:
        """A look at the cells that its number falls in, instead of its named outcomes."""
        reading = self.model.equipment.observations[look.name].reading
        assert reading is not None
        chances = cut(reading)
        return replace(look, outcomes=tuple(f"cell_{i}" for i in range(chances.shape[1])), chances=chances)

    def table(self, look: Look) -> Floats:
        """P(outcome | conditions it depends on, fault set): one axis a condition, all 0 where it can't be made."""
        d = self.described
        used = d.conditions_of(look)
        shape = [len(d.conditions[c]) for c in used]
        table = np.zeros((*shape, len(self.sets), len(look.outcomes)))
        for index in np.ndindex(*shape):
            site: dict[str, Ints] = {c: np.full(len(self.sets), i) for c, i in zip(used, index, strict=True)}
            states = {c: list(d.conditions[c])[i] for c, i in zip(used, index, strict=True)}
            if all(states[c] in wanted for c, wanted in look.only_if.items()):
                table[index] = d.procedure(look, self.present, site, self.ways)
        return table

    def over(self, look: Look, joint: Floats) -> Floats:
        """A joint table (sites, sets) summed to the conditions that an observation depends on."""
        d = self.described
        table = joint.reshape(*(len(s) for s in d.conditions.values()), -1)
        used = d.conditions_of(look)
        return np.asarray(table.sum(axis=tuple(i for i, c in enumerate(d.conditions) if c not in used)))


@cache
def machine(path: Path) -> Machine:
    return Machine(path)


class FaultSetNetwork:
    """A pyAgrum network: conditions, one variable for the fault set, a child for every observation."""

    def __init__(self, of: Machine, known: Mapping[str, str]) -> None:
        self.of, self.known = of, known
        d = of.described
        self.net: Any = gum.BayesNet()
        for name, states in d.conditions.items():
            self.net.add(gum.LabelizedVariable(f"c:{name}", name, list(states)))
            self.net.cpt(f"c:{name}").fillWith(list(states.values()))
        self.net.add(gum.RangeVariable("faults", "faults", 0, len(of.sets)))
        shifting = d.shifting()
        for name in shifting:
            self.net.addArc(f"c:{name}", "faults")
        fixed = tuple(slice(None) if c in shifting else 0 for c in d.conditions)
        prior = of.prior.reshape(*(len(s) for s in d.conditions.values()), -1)[(*fixed, slice(None))]
        self.fill("faults", prior)
        weight = of.share.copy()
        for i, numbers in enumerate(of.sites):
            weight[i] *= all(of.site(numbers)[c] == state for c, state in known.items())
        self.before = weight[:, None] / weight.sum() * of.prior
        self.new: dict[str, Floats] = {}
        self.certain: dict[str, Floats] = {}
        self.cells: dict[str, tuple[Floats, Floats]] = {}
        for name, look in d.looks.items():
            self.observation(name, look)
        for name, look in of.read.items():
            self.cells[name] = self.anew(look, of.listed_cells[name])[:2]

    def fill(self, name: str, table: Floats) -> None:
        order = (*range(table.ndim - 2, -1, -1), table.ndim - 1)
        self.net.cpt(name)[:] = np.ascontiguousarray(table.transpose(order))

    def observation(self, name: str, look: Look) -> None:
        """A node whose last label says that the observation can't be made; its table when made anew."""
        d, listed = self.of.described, self.of.listed[name]
        self.new[name], self.certain[name], outside = self.anew(look, listed)
        used = d.conditions_of(look)
        fits = listed.sum(axis=-1)[..., :1] > 0
        floored = np.maximum(outside, FLOOR)
        floored = np.where(fits[..., None], floored / floored.sum(axis=-1, keepdims=True), floored)
        found = np.concatenate([listed, floored], axis=-2)
        full = np.concatenate([found, 1 - found.sum(axis=-1, keepdims=True)], axis=-1)
        self.net.add(gum.LabelizedVariable(name, name, [*look.outcomes, "cannot_be_done"]))
        for parent in [*(f"c:{c}" for c in used), "faults"]:
            self.net.addArc(parent, name)
        self.fill(name, np.maximum(full, 0.0))

    def anew(self, look: Look, listed: Floats) -> tuple[Floats, Floats, Floats]:
        """The table of an observation made anew, sum of p log p of its rows, and what the unlisted cause shows."""
        d = self.of.described
        mass = self.of.over(look, self.before[:, :-1])
        told = (mass[..., None] * listed).reshape(-1, listed.shape[-1]).sum(axis=0)
        reach = told.sum()
        predicted = np.maximum(told / reach, FLOOR) if reach > 0 else np.full(len(told), 1 / len(told))
        predicted /= predicted.sum()
        fits = listed.sum(axis=-1)[..., :1] > 0
        same_for_all = look.reveals in d.conditions
        outside = listed[..., :1, :] if same_for_all else np.where(fits[..., None], predicted, 0.0)
        new = np.concatenate([listed, outside], axis=-2)
        return new, xlogy(new, new).sum(axis=-1) / np.log(2), outside

    def joint(self, found: list[tuple[str, str]]) -> Floats:
        """P(site, fault set | findings), shape (sites, sets + 1), by pyAgrum's inference."""
        d = self.of.described
        engine = gum.LazyPropagation(self.net)
        engine.setNumberOfThreads(1)
        given = {name: d.looks[name].outcomes.index(outcome) for name, outcome in found}
        given |= {f"c:{c}": list(d.conditions[c]).index(state) for c, state in self.known.items()}
        engine.setEvidence(given)
        free = [f"c:{c}" for c in d.conditions if c not in self.known]
        engine.setTargets(set())
        engine.addJointTarget({"faults", *free})
        engine.makeInference()
        tensor = engine.jointPosterior({"faults", *free}).reorganize(["faults", *reversed(free)])
        table = np.array(tensor.toarray())
        full = np.zeros((*(len(s) for s in d.conditions.values()), len(self.of.sets) + 1))
        place = tuple(given[f"c:{c}"] if c in self.known else slice(None) for c in d.conditions)
        full[place] = table
        return full.reshape(len(self.of.sites), -1)


def spread(mass: Floats) -> float:
    kept = mass[mass > 0]
    return float((kept * np.log2(kept)).sum())


def information(table: Floats, certain: Floats, mass: Floats, gather: Any) -> tuple[float, float, Floats]:
    """Bits about hypotheses, bits about classes, outcome chances; where it can't be made counts nothing.

    `certain` is the sum of p log p over each row of `table`, `gather` sums fault sets by class.
    """
    rows = (mass[..., None] * table).reshape(-1, *table.shape[-2:]).sum(axis=0)
    told = rows.sum(axis=0)
    common = spread(told.sum(keepdims=True)) - spread(told)
    cells = gather @ rows
    return common + float((mass * certain).sum()), common + spread(cells) - spread(cells.sum(axis=1)), told


def random_findings(rng: Random, of: Machine, among: Sequence[str] = ()) -> list[tuple[str, str]]:
    """One to six findings: what a likely hypothesis would show, or anything at all."""
    d = of.described
    site = rng.choices(range(len(of.sites)), of.share.tolist())[0]
    row = rng.choices(range(len(of.sets)), of.prior[site, :-1].tolist())[0]
    sensible = rng.random() < 0.7
    found = []
    names = among or list(d.looks)
    for name in rng.sample(names, min(len(names), rng.randint(1, 6))):
        used = [list(d.conditions).index(c) for c in d.conditions_of(d.looks[name])]
        chances = of.listed[name][(*(of.sites[site][i] for i in used), row)]
        if sensible and chances.sum() > 0:
            found.append((name, rng.choices(d.looks[name].outcomes, chances.tolist())[0]))
        else:
            found.append((name, rng.choice(d.looks[name].outcomes)))
    return found


def random_context(rng: Random, of: Machine, context: int) -> dict[str, str]:
    """Nothing known at first, later some conditions."""
    conditions = of.described.conditions
    return {c: rng.choice(list(s)) for c, s in conditions.items() if context and rng.random() < 0.5}


def often(path: Path, times: int) -> int:
    return times if path.stem == "quillmere-c45" else times // 3


@pytest.mark.parametrize(("path", "context"), [
    pytest.param(path, context, id=f"{path.stem}-{context}")
    for path in MACHINES for context in range(often(path, CONTEXTS))
])
def test_posterior_and_every_gain_equal_pyagrum(path: Path, context: int) -> None:
    of = machine(path)
    d, model = of.described, of.model
    rng = Random(f"{path.stem} {context}")
    known = random_context(rng, of, context)
    network = FaultSetNetwork(of, known)
    for _ in range(often(path, CASES)):
        found = random_findings(rng, of)
        belief = ask(model, found, known)
        joint = network.joint(found)
        about = str((known, found))
        assert belief.unlisted == pytest.approx(joint[:, -1].sum(), abs=TOLERANCE), about
        expected = joint[:, :-1].sum(axis=0) @ of.present
        ours = np.array([belief.marginals_of("modes")[m] for m in d.modes])
        np.testing.assert_allclose(ours, expected, rtol=0, atol=TOLERANCE, err_msg=about)
        for axis, condition in enumerate(d.conditions):
            if condition not in known:
                shares = np.bincount([s[axis] for s in of.sites], joint.sum(axis=1))
                np.testing.assert_allclose(
                    belief.conditions()[condition], shares, rtol=0, atol=TOLERANCE, err_msg=about)
        table = worth(belief)
        for name, look in d.looks.items():
            mass = of.over(look, joint)
            hypotheses, classes, told = information(network.new[name], network.certain[name], mass, of.gather)
            np.testing.assert_allclose(
                list(table[name].outcomes.values()), told, rtol=0, atol=TOLERANCE, err_msg=f"{name} {about}")
            close = TOLERANCE
            if name in network.cells:
                hypotheses, classes, _ = information(*network.cells[name], mass, of.gather)
                close = CELLS
            assert table[name].hypotheses == pytest.approx(hypotheses, abs=TOLERANCE), (name, about)
            assert table[name].classes == pytest.approx(classes, abs=close), (name, about)


def tractable(of: Machine, known: Mapping[str, str], names: Sequence[str]) -> bool:
    """Whether a network of components can take findings of these observations exactly."""
    network = ComponentNetwork(of.described, known)
    nodes = [network.procedure(of.described.looks[name], f"z{i}") for i, name in enumerate(names)]
    return network.width(nodes) <= WIDEST


@pytest.mark.parametrize("path", MACHINES, ids=lambda p: p.stem)
def test_modes_equal_a_network_of_components(path: Path) -> None:
    of = machine(path)
    rng = Random(path.stem)
    looks = list(of.described.looks)
    local = [name for name in rng.sample(looks, often(path, len(looks))) if tractable(of, {}, [name])]
    assert len(local) > 20, "too few observations that a network of components can take"
    case = 0
    while case < often(path, COMPONENT_CASES):
        known = random_context(rng, of, case % 3)
        found = random_findings(rng, of, local)[: 1 + case % 3]
        if not tractable(of, known, [name for name, _ in found]):
            continue
        case += 1
        belief = ask(of.model, found, known)
        network = ComponentNetwork(of.described, known)
        network.find(found)
        nodes = ["unlisted", *(f"on:{m}" for m in of.described.modes)]
        expected = network.posteriors(nodes)
        assert belief.unlisted == pytest.approx(expected["unlisted"][1], abs=TOLERANCE), (known, found)
        for mode, chance in belief.marginals_of("modes").items():
            assert chance == pytest.approx(expected[f"on:{mode}"][1], abs=TOLERANCE), (mode, known, found)


def test_there_are_machines_to_check() -> None:
    assert MACHINES
