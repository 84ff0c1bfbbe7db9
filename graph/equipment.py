"""What a family of machines is: frozen records, one for each word of the trade.

Fractions are 0..1, times are minutes, money is in `Equipment.currency`, rates are calls per thousand.
A failure mode's id is `component.mode`; every other id is unique in its document.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from graph.readings.records import Reading

Role = Literal["site_contact", "technician"]
Licence = Literal["refrigeration", "electrical", "gas"]
Kind = Literal["symptom", "test"]
Requirement = tuple[str, tuple[str, ...]]
"""A name (signal, component, condition or unit state) and the states that satisfy it."""

SOUND = "sound"
"""The state of a component none of whose failure modes is present."""
OTHERWISE = "otherwise"


@dataclass(frozen=True, slots=True)
class Condition:
    """A fact about unit or site that is no failure. `shares` add up to 1."""

    id: str
    title: str
    states: tuple[str, ...]
    shares: tuple[float, ...]
    question: str
    titles: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Wear:
    """Weibull life: shape (no unit) and characteristic life in years."""

    shape: float
    life_years: float


@dataclass(frozen=True, slots=True)
class FailureMode:
    """One way a component is not right. `shows` is the chance that it shows in one trial."""

    id: str
    component: str
    title: str
    calls_per_thousand: float
    remedies: tuple[str, ...]
    shows: float = 1.0
    wear: Wear | None = None
    raised_by: tuple[tuple[str, str, float], ...] = ()
    only_if: tuple[Requirement, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class Component:
    """What can fail, inside the unit or (external) outside it."""

    id: str
    title: str
    group: str
    external: bool
    can_coincide: bool
    modes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Rule:
    """If all of `needs` hold, any of `any_fault` and all of `all_faults` are present: `state`."""

    state: str
    needs: tuple[Requirement, ...] = ()
    any_fault: tuple[str, ...] = ()
    all_faults: tuple[str, ...] = ()

    @property
    def is_default(self) -> bool:
        """Whether the rule always matches."""
        return not (self.needs or self.any_fault or self.all_faults)


@dataclass(frozen=True, slots=True)
class Signal:
    """A quantity or state that passes between components; the first matching rule decides."""

    id: str
    title: str
    states: tuple[str, ...]
    rules: tuple[Rule, ...]
    titles: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Outcome:
    """One named result of an observation."""

    id: str
    title: str


@dataclass(frozen=True, slots=True)
class Observation:
    """A symptom (asked of whoever is there) or a test: it reveals one signal, component or condition.

    `chances[s][o]` is P(outcome o | revealed state s), rows in the order of the revealed states.
    """

    id: str
    kind: Kind
    title: str
    reveals: str
    outcomes: tuple[Outcome, ...]
    chances: tuple[tuple[float, ...], ...]
    minutes: float
    role: Role = "site_contact"
    licence: Licence | None = None
    instruments: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()
    how: tuple[str, ...] = ()
    needs: tuple[tuple[str, str], ...] = ()
    disturbs: tuple[str, ...] = ()
    only_if: tuple[Requirement, ...] = ()
    sees_intermittent: bool = False
    repeats: int = 1
    reading: Reading | None = None
    phrases: tuple[str, ...] = ()
    note: str = ""
    materials: float = 0.0

    def outcome_title(self, outcome: str) -> str:
        """The title of one of its outcomes; the id itself where there is none."""
        return next((o.title for o in self.outcomes if o.id == outcome), outcome)


@dataclass(frozen=True, slots=True)
class CallerWords:
    """A remedy as it is said to a caller who is to do it: what, step by step, and how to see that it worked."""

    title: str
    how: tuple[str, ...]
    worked: str


@dataclass(frozen=True, slots=True)
class Remedy:
    """The corrective action for the failure modes that name it.

    `parts` are (part id, quantity), `materials` the money for what it uses up besides. `caller` is how it is said to a
    site contact; None: as it stands.
    """

    id: str
    title: str
    minutes: float
    parts: tuple[tuple[str, int], ...] = ()
    role: Role = "technician"
    licence: Licence | None = None
    instruments: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()
    how: tuple[str, ...] = ()
    needs: tuple[tuple[str, str], ...] = ()
    disturbs: tuple[str, ...] = ()
    verify: str | None = None
    materials: float = 0.0
    caller: CallerWords | None = None


@dataclass(frozen=True, slots=True)
class Part:
    """A stocked item. `alternatives` are part ids that serve as well; size in litres and kilograms.

    A superseded part is used where it is still aboard; `superseded_by` is brought in its place. A consumable is
    used up by the work itself.
    """

    id: str
    number: str
    title: str
    price: float
    volume_litres: float | None = None
    weight_kg: float | None = None
    alternatives: tuple[str, ...] = ()
    superseded_by: str | None = None
    consumable: bool = False


@dataclass(frozen=True, slots=True)
class Hazard:
    """What can hurt someone, and the usual precautions."""

    id: str
    title: str
    precautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class UnitState:
    """A state the unit can be put in (power, panel, phase): usual state, minutes to reach each.

    `lockout` is the state that is reached by locking out the supply; `guards` marks what keeps people from live
    parts, `live` what only a unit with supply can be in. `disturbs` are, by state, the signals and components whose
    evidence getting there destroys.
    """

    id: str
    title: str
    states: tuple[str, ...]
    usual: str
    minutes: Mapping[str, float]
    lockout: str | None
    guards: bool
    live: bool
    disturbs: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the operating sequence. `shows` are (signal, state) pairs, `minutes` its length."""

    id: str
    title: str
    happens: str
    watch: str
    minutes: float | None
    shows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Acceptance:
    """An odd entry that its author stands by: the rule's code, a JSON Pointer to the place, and why."""

    code: str
    where: str
    reason: str


@dataclass(frozen=True, slots=True, eq=False)
class Equipment:
    """A family of machines that shares one graph. The shares are fractions of all calls."""

    id: str
    title: str
    category: str
    maker: str
    summary: str
    data_note: str
    currency: str
    most_faults: int
    coincidence: float
    nothing_wrong: float
    unlisted: float
    options: tuple[str, ...]
    cautions: tuple[str, ...]
    sequence: tuple[Step, ...]
    hazards: Mapping[str, Hazard]
    instruments: Mapping[str, str]
    unit_states: Mapping[str, UnitState]
    conditions: Mapping[str, Condition]
    components: Mapping[str, Component]
    modes: Mapping[str, FailureMode]
    signals: Mapping[str, Signal]
    observations: Mapping[str, Observation]
    remedies: Mapping[str, Remedy]
    parts: Mapping[str, Part]
    accepted: tuple[Acceptance, ...] = ()

    @property
    def tests(self) -> Mapping[str, Observation]:
        """The observations that are tests."""
        return MappingProxyType({k: o for k, o in self.observations.items() if o.kind == "test"})

    @property
    def symptoms(self) -> Mapping[str, Observation]:
        """The observations that are symptoms."""
        return MappingProxyType({k: o for k, o in self.observations.items() if o.kind == "symptom"})

    def states_of(self, name: str) -> tuple[str, ...]:
        """The states of a signal, condition or component (its modes, then `sound`).

        Raises KeyError for any other name.
        """
        if name in self.signals:
            return self.signals[name].states
        if name in self.conditions:
            return self.conditions[name].states
        prefix = len(name) + 1
        return (*(m[prefix:] for m in self.components[name].modes), SOUND)

    def serving(self, part: str) -> tuple[str, ...]:
        """The parts that serve where one is wanted: what superseded it, itself, its alternatives."""
        newest = part
        while (after := self.parts[newest].superseded_by) is not None:
            newest = after
        return tuple(dict.fromkeys((newest, part, *self.parts[part].alternatives)))

    def title_of(self, name: str) -> str:
        """The title of anything that has an id here; the id itself where there is none."""
        for table in (self.modes, self.components, self.signals, self.conditions,
                      self.observations, self.remedies, self.parts, self.hazards):
            if name in table:
                return str(table[name].title)
        return name

    def mode_title(self, mode: str) -> str:
        """`Component: mode` for people."""
        record = self.modes[mode]
        return f"{self.components[record.component].title}: {record.title}"

