"""Machines to try the engine on, and cases drawn for them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from graph.belief import Belief, believe
from graph.compile import CompiledModel, compile_model
from graph.evidence import finding
from schemas.load import load_data
from tests.documents import in_full
from tests.graph.counting import Counting, Said
from tests.machines import small_machine

SHIPPED = sorted(Path("fixtures/equipment").absolute().glob("*.yaml"))
TOYS = sorted((Path(__file__).parent / "machines").glob("*.yaml"))
TUTORIAL = sorted(Path("fixtures/tutorial").absolute().glob("*.yaml"))
WRITTEN = {path.stem: path for path in [*SHIPPED, *TUTORIAL, *TOYS]}
RANDOM = "random"
SOURCES = [*WRITTEN, RANDOM]


@dataclass(frozen=True, eq=False)
class Machine:
    """A document, compiled, and its meaning by counting."""

    document: dict[str, Any] = field(repr=False)
    model: CompiledModel = field(repr=False)

    @property
    def counting(self) -> Counting:
        return _counting(self)

    @property
    def again(self) -> Machine:
        """The same document, compiled a second time."""
        return _again(self)

    def believe(self, findings: Sequence[Said] = (), known: Mapping[str, str] | None = None) -> Belief:
        return believe(self.model, [finding(self.model, about, said) for about, said in findings], known)


@cache
def _counting(machine: Machine) -> Counting:
    return Counting(machine.document)


@cache
def _again(machine: Machine) -> Machine:
    return compiled(machine.document)


def compiled(document: dict[str, Any]) -> Machine:
    return Machine(document, compile_model(load_data(document)))


@cache
def written(name: str) -> Machine:
    return compiled(in_full(WRITTEN[name]))


@cache
def random_machine(seed: int) -> Machine:
    return compiled(small_machine(seed))


def machines(source: str) -> st.SearchStrategy[Machine]:
    """One machine by name, or any of many random ones."""
    return st.integers(0, 3000).map(random_machine) if source == RANDOM else st.just(written(source))


@dataclass(frozen=True, eq=False)
class Case:
    """What was found on one machine, and what was known beforehand."""

    machine: Machine
    findings: list[Said]
    known: dict[str, str]

    def believe(self, findings: Sequence[Said] | None = None) -> Belief:
        return self.machine.believe(self.findings if findings is None else findings, self.known)

    def __repr__(self) -> str:
        return f"Case({self.findings}, known={self.known})"


def observed(model: CompiledModel) -> st.SearchStrategy[Said]:
    """One outcome of any observation, or a series of trials."""
    names = sorted(model.equipment.observations)

    def said(name: str) -> st.SearchStrategy[Said]:
        outcomes = st.sampled_from([o.id for o in model.equipment.observations[name].outcomes])
        series = st.dictionaries(outcomes, st.integers(0, 3), max_size=3)
        return st.tuples(st.just(name), outcomes | outcomes | series)

    return st.sampled_from(names).flatmap(said)


def repaired(model: CompiledModel) -> st.SearchStrategy[Said]:
    said = st.sampled_from(["done", "runs", "still_faulty"])
    return st.tuples(st.sampled_from(sorted(model.equipment.remedies)), said)


def known_conditions(model: CompiledModel) -> st.SearchStrategy[dict[str, str]]:
    conditions = model.equipment.conditions
    return st.fixed_dictionaries({}, optional={n: st.sampled_from(c.states) for n, c in conditions.items()})


@st.composite
def cases(draw: st.DrawFn, source: str, remedies: bool = True, most: int = 5) -> Case:
    """A case with findings, remedies in between and some conditions known."""
    machine = draw(machines(source))
    said = observed(machine.model)
    said = said | said | repaired(machine.model) if remedies else said
    known = draw(st.just({}) | known_conditions(machine.model))
    return Case(machine, draw(st.lists(said, max_size=most)), known)
