"""One shipped machine, asked as a veteran of the trade would ask it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from importlib.resources import files

from graph.advice import advise
from graph.answers import Advice
from graph.belief import Belief, believe
from graph.compile import CompiledModel, compile_model
from graph.context import Asker, Economics
from graph.evidence import Finding, finding
from graph.policy.decision import DEFAULT_BUDGET
from graph.policy.ranking import rank_tests
from graph.readings.taking import Given
from schemas.load import load_text

Said = str | dict[str, int] | Given
Story = Mapping[str, Said]
TECHNICIAN = Asker(licences=frozenset({"electrical"}))


class Veteran:
    """What the graph of an equipment makes of a story: observations and what they showed, in their order."""

    def __init__(self, equipment: str) -> None:
        self.equipment = equipment

    @cached_property
    def model(self) -> CompiledModel:
        path = files("fixtures").joinpath(f"equipment/{self.equipment}.yaml")
        return compile_model(load_text(path.read_bytes()))

    def findings(self, story: Story) -> list[Finding]:
        return [
            finding(self.model, about, None, reading=said) if isinstance(said, Given)
            else finding(self.model, about, said)
            for about, said in story.items()
        ]

    def belief(self, story: Story, **known: str) -> Belief:
        return believe(self.model, self.findings(story), known)

    def modes(self, story: Story, **known: str) -> dict[str, float]:
        return dict(self.belief(story, **known).marginals_of("modes"))

    def advice(self, story: Story, asker: Asker = TECHNICIAN, budget: float = DEFAULT_BUDGET) -> Advice:
        return advise(self.model, self.findings(story), asker=asker, budget=budget)

    def order(self, story: Story) -> list[str]:
        """The tests that may be made, the best scored first."""
        return list(rank_tests(self.belief(story), TECHNICIAN, Economics()).open())
