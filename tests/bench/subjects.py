"""What is measured: machines, a case on each, and other ways to get the same numbers."""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import numpy as np

from graph.belief import Belief, believe
from graph.columns import Watch
from graph.compile import CompiledModel, compile_model
from graph.equipment import Equipment
from graph.evidence import Finding, finding
from graph.gain import Gains, gains
from graph.hypotheses import Floats
from schemas.load import load_data, load_text
from tests.machines import large_machine
from tests.published.libraries import gum

ICE_MAKER = Path("fixtures/equipment/quillmere-c45.yaml").absolute()
FINDINGS = 4
SIZES = {"150 modes, pairs": (150, 2), "400 modes, pairs": (400, 2), "5,000 modes, single": (5_000, 1),
         "150 modes, triples": (150, 3)}
TARGETS_MS = {"ice maker": 0.3, "150 modes, pairs": 0.4, "400 modes, pairs": 3.0, "5,000 modes, single": 0.6,
              "150 modes, triples": 25.0, "ice maker from YAML": 300.0, "ice maker engine part": 50.0}


@dataclass(frozen=True, eq=False)
class Subject:
    """One machine with four findings on it."""

    model: CompiledModel
    findings: list[Finding]

    def believe(self) -> Belief:
        return believe(self.model, self.findings)

    def answer(self) -> tuple[Belief, Gains]:
        """The posterior and the gain of every observation."""
        belief = self.believe()
        return belief, gains(belief)


def subject(model: CompiledModel) -> Subject:
    """A case with four findings: mostly that all is well, here and there that it is not."""
    dice = Random(4)
    found: list[Finding] = []
    tests = sorted(model.equipment.tests)
    for test in dice.sample(tests, FINDINGS):
        watch = model.watches[model.by_id[test]]
        outcomes = watch.observation.outcomes
        found.append(finding(model, test, outcomes[dice.choice([0, 0, 0, 1])].id))
    return Subject(model, found)


def ice_maker_equipment() -> Equipment:
    return load_text(ICE_MAKER.read_bytes(), ICE_MAKER.name)


@cache
def ice_maker() -> Subject:
    return subject(compile_model(ice_maker_equipment()))


@cache
def generated_equipment(name: str) -> Equipment:
    modes, most_faults = SIZES[name]
    return load_data(large_machine(1, modes, most_faults))


@cache
def generated(name: str) -> Subject:
    return subject(compile_model(generated_equipment(name)))


def memory_mb(build: Callable[[], object]) -> tuple[float, float]:
    """Megabytes that what is built keeps, and the most that were taken while building."""
    tracemalloc.start()
    kept = build()
    held, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    del kept
    return held / 1e6, peak / 1e6


class NaiveLoop:
    """One observation at a time: the likelihood of each outcome under each hypothesis, and its entropies."""

    def __init__(self, model: CompiledModel) -> None:
        self.model = model
        self.prior = believe(model).prior
        self.watches = {i: w for i, w in enumerate(model.gauges) if w.column >= 0}

    def likelihood(self, watch: Watch, predicted: Floats) -> Floats:
        """P(outcome | hypothesis), a row a hypothesis; all 0 where it can't be made."""
        pattern, outside = self.model.patterns[watch.column], self.model.columns[watch.column].unlisted
        table = watch.chances[pattern]
        if outside is not None:
            table[pattern == outside] = predicted[watch.first: watch.first + table.shape[1]]
        return np.asarray(table)

    def gains(self, rows: Floats) -> tuple[Floats, Floats]:
        """Bits about classes and about hypotheses."""
        by_class, by_row = np.zeros(len(self.model.watches)), np.zeros(len(self.model.watches))
        classes, count = self.model.classes.of_row, len(self.model.classes.remedies)
        for i, watch in self.watches.items():
            table = self.likelihood(watch, self.prior.predicted_cells)
            joint = rows[:, None] * table
            outcomes = joint.sum(axis=0)
            common = _x_log_x(outcomes.sum()) - _x_log_x(outcomes)
            by_row[i] = common + float((joint * np.log2(np.where(table > 0, table, 1.0))).sum())
            cells = np.stack([np.bincount(classes, column, count) for column in joint.T])
            by_class[i] = common + _x_log_x(cells) - _x_log_x(cells.sum(axis=0))
        return by_class, by_row


def _x_log_x(mass: Any) -> float:
    mass = np.asarray(mass)
    kept = mass[mass > 0]
    return float((kept * np.log2(kept)).sum())


class LibraryNetwork:
    """pyAgrum on the same machine: what is wrong is one variable, every observation a child of it."""

    def __init__(self, of: Subject) -> None:
        self.library: Any = gum
        model = of.model
        loop = NaiveLoop(model)
        self.net = self.library.BayesNet()
        self.net.add(self.library.RangeVariable("cause", "cause", 0, model.rows - 1))
        self.net.cpt("cause").fillWith(believe(model).rows.tolist())
        self.names: list[str] = []
        named_ones = {f.about for f in of.findings}
        for i, gauge in loop.watches.items():
            name = gauge.observation.id
            named = name in named_ones
            predicted = loop.prior.predicted if named else loop.prior.predicted_cells
            told = loop.likelihood(model.watches[i] if named else gauge, predicted)
            told = np.concatenate([told, 1 - told.sum(axis=1, keepdims=True)], axis=1)
            self.net.add(self.library.RangeVariable(name, name, 0, told.shape[1] - 1))
            self.net.addArc("cause", name)
            self.net.cpt(name)[:] = np.maximum(told, 0.0)
            self.names.append(name)
        self.given: dict[str, int] = {}
        for found in of.findings:
            outcomes = [o.id for o in model.equipment.observations[found.about].outcomes]
            self.given[found.about] = outcomes.index(found.counts[0][0])

    def answer(self) -> tuple[Floats, dict[str, float]]:
        """The posterior of every cause, and the bits of every observation about it."""
        engine = self.library.LazyPropagation(self.net)
        engine.setNumberOfThreads(1)
        engine.setEvidence(self.given)
        free = [name for name in self.names if name not in self.given]
        engine.setTargets({"cause"})
        for name in free:
            engine.addJointTarget({"cause", name})
        engine.makeInference()
        rows = np.array(engine.posterior("cause").toarray())
        worth = {}
        for name in free:
            joint = engine.jointPosterior({"cause", name}).reorganize([name, "cause"])
            worth[name] = _bits(np.array(joint.toarray()))
        return rows, worth


def _bits(joint: Floats) -> float:
    """Mutual information of a joint table (causes, outcomes); the last outcome is that it can't be made."""
    joint = joint[:, :-1]
    return (
        _x_log_x(joint.sum()) + _x_log_x(joint) - _x_log_x(joint.sum(axis=0)) - _x_log_x(joint.sum(axis=1))
    )

