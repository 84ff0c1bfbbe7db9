"""The graph document: what a trainer writes by hand, one file an equipment family.

Frequencies are calls per thousand, reliabilities "so many times in 100", times minutes.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Discriminator, Field, Tag

from graph.equipment import Licence, Role
from schemas.modules.shapes import InstanceShape
from schemas.readings import ReadingShape
from schemas.text import (
    NO_CONTROL,
    Currency,
    EquipmentName,
    InHundred,
    Integral,
    Minutes,
    ModeName,
    Money,
    Name,
    OptionalTitle,
    Positive,
    Prose,
    Shape,
    Title,
)

States = Annotated[list[Name], Field(min_length=1, max_length=50)]


def _written_as(value: object) -> str:
    """Which of the accepted spellings `value` uses: one name, a list, or the full form."""
    return "name" if isinstance(value, str) else "list" if isinstance(value, list) else "full"


StateOrStates = Annotated[
    Annotated[Name, Tag("name")] | Annotated[States, Tag("list")], Discriminator(_written_as)
]
Requirements = dict[Name, StateOrStates]
Needs = dict[Name, Name]


class StepShape(Shape):
    """One step of the operating sequence."""

    id: Name
    title: Title
    happens: Prose
    watch: Annotated[Prose, Field(description="what can be seen or heard")] = ""
    minutes: Minutes | None = None
    shows: Annotated[Needs, Field(description="signal: its state in this step")] = {}


class EquipmentShape(Shape):
    """The family, its operating sequence and the shares of unusual calls."""

    id: EquipmentName
    title: Title
    category: Title
    maker: OptionalTitle = ""
    summary: Prose = ""
    data_note: Annotated[Prose, Field(description="where rates and numbers come from")] = ""
    currency: Currency = "EUR"
    options: Annotated[list[Name], Field(description="conditions that are fitted options")] = []
    most_faults: Annotated[int, Field(ge=1, le=4, description="most faults present at once"), Integral] = 2
    two_faults_in_100: Annotated[InHundred, Field(description="calls with two or more faults")] = 3
    nothing_wrong_in_100: Annotated[InHundred, Field(description="calls where nothing is wrong")] = 3
    unlisted_in_100: Annotated[InHundred, Field(gt=0, description="calls whose cause is not in this graph")] = 2
    sequence: list[StepShape] = []
    cautions: list[Prose] = []


class HazardShape(Shape):
    """What can hurt someone, and the usual precautions."""

    title: Title
    precautions: Annotated[list[Prose], Field(min_length=1)]


class UnitStateShape(Shape):
    """A state the unit can be put in: power, a panel, the phase of the sequence."""

    title: Title
    states: States
    usual: Annotated[Name, Field(description="the state a technician finds it in")]
    minutes: Annotated[dict[Name, Minutes], Field(description="minutes to get to each state")] = {}
    lockout: Annotated[Name | None, Field(description="the state that is reached by locking out the supply")] = None
    guards: Annotated[bool, Field(description=(
        "keeps people from live parts: comes off only while locked out, and goes back before the supply does"
    ))] = False
    live: Annotated[bool, Field(description="only a unit with supply can be in it: locking out ends it")] = False
    disturbs: Annotated[
        dict[Name, list[Name]],
        Field(description="state: signals or components whose evidence is destroyed by getting there"),
    ] = {}


class ConditionShape(Shape):
    """A fact about unit or site that is no failure."""

    title: Title
    states: Annotated[dict[Name, InHundred], Field(min_length=2, description="state: share of calls in 100")]
    titles: dict[Name, Title] = {}
    question: Prose = ""


class WearShape(Shape):
    """Weibull life of a part that wears."""

    shape: Positive
    life_years: Positive


class FailureModeShape(Shape):
    """One way a component is not right."""

    title: Title
    calls_per_thousand: Annotated[float, Field(gt=0, le=1000, allow_inf_nan=False)]
    remedies: Annotated[list[Name], Field(min_length=1, description="first = the usual repair")]
    shows_in_100: Annotated[
        float, Field(gt=0, le=100, description="intermittent: trials in 100 in which it shows")
    ] = 100
    wear: WearShape | None = None
    raised_by: Annotated[
        dict[Name, dict[Name, Positive]], Field(description="condition: {state: factor}")
    ] = {}
    only_if: Annotated[Requirements, Field(description="condition: states in which it can exist")] = {}
    note: Prose = ""


class ComponentShape(Shape):
    """What can fail, inside the unit or outside it."""

    title: Title
    group: OptionalTitle = ""
    external: bool = False
    can_coincide: Annotated[bool, Field(description="two of its modes may be present at once")] = False
    only_if: Requirements = {}
    failure_modes: Annotated[dict[Name, FailureModeShape], Field(min_length=1)]


class WhenShape(Shape):
    """What a rule asks for; all of it must hold.

    Every key but `any_fault` and `all_faults` names a signal, condition or component; its value
    is the state, or the list of states, that satisfies the rule.
    """

    model_config = ConfigDict(extra="allow")
    __pydantic_extra__: dict[Name, StateOrStates]

    any_fault: list[ModeName] = []
    all_faults: list[ModeName] = []

    @property
    def states(self) -> dict[str, StateOrStates]:
        """The named states the rule asks for."""
        return self.__pydantic_extra__ or {}


class RuleShape(Shape):
    """`state` if `when` holds; without `when`, always."""

    state: Name
    when: WhenShape | None = None


class SignalShape(Shape):
    """A quantity or state that passes between components."""

    title: Title
    states: Annotated[list[Name], Field(min_length=2, max_length=50)]
    titles: Annotated[dict[Name, Title], Field(description="state: how to say it")] = {}
    rules: Annotated[list[RuleShape], Field(min_length=1, description="first match decides; the last has no `when`")]


class SymptomShape(Shape):
    """What a person without tools can report."""

    title: Title
    shows: Annotated[
        Requirements,
        Field(min_length=1, max_length=1, description="signal, condition or component: state(s)"),
    ]
    reported_in_100: Annotated[InHundred, Field(description="said yes, when it is so")] = 90
    misreported_in_100: Annotated[InHundred, Field(description="said yes, when it is not")] = 3
    question: Prose = ""
    phrases: Annotated[list[Title], Field(description="how callers say it")] = []
    minutes: Minutes = 1
    sees_intermittent: bool = False
    only_if: Requirements = {}


class OutcomeShape(Shape):
    """One result of a test, and the states of what it reveals that lead to it."""

    title: Title
    states: Annotated[
        Annotated[Literal["otherwise"], Tag("name")] | Annotated[States, Tag("list")],
        Discriminator(_written_as),
    ]


AnyOutcome = Annotated[
    Annotated[Literal["otherwise"], Tag("name")]
    | Annotated[States, Tag("list")]
    | Annotated[OutcomeShape, Tag("full")],
    Discriminator(_written_as),
]
"""An outcome in full, or only its states; then its title is its name."""


class TestShape(Shape):
    """An action with named outcomes that reveals a signal, a component's modes or a condition."""

    __test__ = False

    title: Title
    reveals: Annotated[Name, Field(description="a signal, component or condition")]
    outcomes: Annotated[dict[Name, AnyOutcome], Field(min_length=2, max_length=20)]
    right_in_100: Annotated[InHundred, Field(description="how often the outcome is the true one")] = 97
    chances: Annotated[
        dict[Name, dict[Name, InHundred]],
        Field(description="state: {outcome: in 100}, where one figure is not enough"),
    ] = {}
    reading: ReadingShape | None = None
    role: Role = "technician"
    licence: Licence | None = None
    instruments: list[Name] = []
    minutes: Minutes
    hazards: list[Name] = []
    how: Annotated[list[Prose], Field(description="steps")] = []
    needs: Annotated[Needs, Field(description="unit state it needs, e.g. power: isolated; any: no matter which")] = {}
    materials: Annotated[Money, Field(description="what it uses up that is no part")] = 0
    disturbs: Annotated[list[Name], Field(description="signals or components whose evidence it destroys")] = []
    repeats: Annotated[
        int, Field(ge=1, le=100, description="times to do it, for intermittent faults"), Integral
    ] = 1
    sees_intermittent: Annotated[
        bool, Field(description="finds an intermittent fault even while it is not showing")
    ] = False
    only_if: Annotated[Requirements, Field(description="condition: states in which it can be done")] = {}
    note: Prose = ""


class CallerShape(Shape):
    """A remedy as it is said to a caller who is to do it."""

    title: Annotated[Title, Field(description="what to do: Turn the selector to Make")]
    how: Annotated[list[Prose], Field(min_length=1, description="steps, one sentence or two each")]
    worked: Annotated[Prose, Field(min_length=1, description="how the caller sees that it worked")]


class RemedyShape(Shape):
    """The corrective action for the failure modes that name it."""

    title: Title
    minutes: Minutes
    parts: dict[Name, Annotated[int, Field(ge=1, le=100), Integral]] = {}
    role: Role = "technician"
    licence: Licence | None = None
    instruments: list[Name] = []
    hazards: list[Name] = []
    how: list[Prose] = []
    needs: Needs = {}
    materials: Annotated[Money, Field(description="what it uses up that is no part")] = 0
    disturbs: list[Name] = []
    verify: Annotated[Name | None, Field(description="the test that proves it")] = None
    caller: Annotated[CallerShape | None, Field(description="how it is said to a caller; null: as it stands")] = None


class PartShape(Shape):
    """A stocked item."""

    number: Title
    title: Title
    price: Money
    volume_litres: Positive | None = None
    weight_kg: Positive | None = None
    alternatives: Annotated[list[Name], Field(description="parts that serve as well")] = []
    superseded_by: Annotated[Name | None, Field(description="the part that is supplied in its place now")] = None
    consumable: Annotated[bool, Field(description="used up by the work, like paste or descaler")] = False


class AcceptanceShape(Shape):
    """An odd entry that is meant so."""

    code: Annotated[str, Field(pattern=r"^[a-z][a-z0-9-]{0,63}$", description="the code of the rule that reports it")]
    where: Annotated[str, Field(
        min_length=1, max_length=400, pattern=NO_CONTROL, description="JSON Pointer of the place: /tests/x",
    )]
    reason: Annotated[str, Field(min_length=10, max_length=400, pattern=NO_CONTROL, description="why it is right")]


class Document(Shape):
    """A whole graph document."""

    format: Annotated[Literal[1], Field(description="version of this format")]
    equipment: EquipmentShape
    modules: Annotated[
        dict[Name, InstanceShape],
        Field(max_length=100, description="instance: the shipped module that it is of, and its parameters"),
    ] = {}
    module_defaults: Annotated[
        dict[Name, Any], Field(max_length=100, description="parameters for every module that has them")
    ] = {}
    hazards: dict[Name, HazardShape] = {}
    instruments: Annotated[dict[Name, Title], Field(description="id: title")] = {}
    unit_states: dict[Name, UnitStateShape] = {}
    conditions: dict[Name, ConditionShape] = {}
    components: Annotated[dict[Name, ComponentShape], Field(min_length=1, max_length=6000)]
    signals: dict[Name, SignalShape] = {}
    symptoms: dict[Name, SymptomShape] = {}
    tests: dict[Name, TestShape] = {}
    remedies: Annotated[dict[Name, RemedyShape], Field(min_length=1)]
    parts: dict[Name, PartShape] = {}
    accepted: Annotated[list[AcceptanceShape], Field(description="what the check reports and is meant so")] = []
