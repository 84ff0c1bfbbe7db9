"""From a checked graph document to the core's `Equipment`: shorthands written out, defaults applied."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from graph.equipment import (
    OTHERWISE,
    SOUND,
    Acceptance,
    CallerWords,
    Component,
    Condition,
    Equipment,
    FailureMode,
    Hazard,
    Observation,
    Outcome,
    Part,
    Remedy,
    Requirement,
    Rule,
    Signal,
    Step,
    UnitState,
    Wear,
)
from schemas.document import (
    Document,
    OutcomeShape,
    Requirements,
    RuleShape,
    SymptomShape,
    TestShape,
    UnitStateShape,
)
from schemas.readings import reading_of
from schemas.references import ANY, outcome_states, states_listed


def _requirements(needs: Requirements) -> tuple[Requirement, ...]:
    return tuple((name, tuple(states_listed(states))) for name, states in needs.items())


def _plain(name: str) -> str:
    return name.replace("_", " ")


def _rule(rule: RuleShape) -> Rule:
    if rule.when is None:
        return Rule(rule.state)
    when = rule.when
    return Rule(rule.state, _requirements(when.states), tuple(when.any_fault), tuple(when.all_faults))


def outcome_chances(test: TestShape, states: Sequence[str]) -> tuple[tuple[float, ...], ...]:
    """P(outcome | state), rows by state, columns by outcome, each row adding up to 1.

    The true outcome of a state comes up `right_in_100`; what is left is shared evenly among the others.
    """
    names = list(test.outcomes)
    right = test.right_in_100 / 100
    wrong = (1 - right) / (len(names) - 1)
    true_outcome: dict[str, str] = {}
    rest = ""
    for name, outcome in test.outcomes.items():
        named = outcome_states(outcome)
        if isinstance(named, str):
            rest = name
        else:
            true_outcome.update(dict.fromkeys(named, name))
    rows = []
    for state in states:
        if state in test.chances:
            given = test.chances[state]
            total = sum(given.values())
            rows.append(tuple(given.get(name, 0.0) / total for name in names))
        else:
            hit = true_outcome.get(state, rest)
            rows.append(tuple(right if name == hit else wrong for name in names))
    return tuple(rows)


def _symptom(name: str, symptom: SymptomShape, states: Sequence[str]) -> Observation:
    (about, shown), = _requirements(symptom.shows)
    said, slip = symptom.reported_in_100 / 100, symptom.misreported_in_100 / 100
    return Observation(
        id=name,
        kind="symptom",
        title=symptom.title,
        reveals=about,
        outcomes=(Outcome("present", symptom.title), Outcome("absent", f"not: {symptom.title}")),
        chances=tuple((said, 1 - said) if s in shown else (slip, 1 - slip) for s in states),
        minutes=symptom.minutes,
        how=(symptom.question,) if symptom.question else (),
        only_if=_requirements(symptom.only_if),
        sees_intermittent=symptom.sees_intermittent,
        phrases=tuple(symptom.phrases),
    )


def _test_needs(test: TestShape, unit_states: Mapping[str, UnitStateShape]) -> tuple[tuple[str, str], ...]:
    """The unit states a test needs: a machine that is locked out shows nothing, unless the test says `any`."""
    live = {n: u.usual for n, u in unit_states.items() if u.lockout is not None}
    return tuple((n, state) for n, state in {**live, **test.needs}.items() if state != ANY)


def _test(
    name: str, test: TestShape, states: Sequence[str], unit_states: Mapping[str, UnitStateShape]
) -> Observation:
    return Observation(
        id=name,
        kind="test",
        title=test.title,
        reveals=test.reveals,
        outcomes=tuple(
            Outcome(o, shape.title if isinstance(shape, OutcomeShape) else _plain(o))
            for o, shape in test.outcomes.items()
        ),
        chances=outcome_chances(test, states),
        minutes=test.minutes,
        role=test.role,
        licence=test.licence,
        instruments=tuple(test.instruments),
        hazards=tuple(test.hazards),
        how=tuple(test.how),
        needs=_test_needs(test, unit_states),
        disturbs=tuple(test.disturbs),
        only_if=_requirements(test.only_if),
        sees_intermittent=test.sees_intermittent,
        repeats=test.repeats,
        reading=reading_of(test.reading, states, 1 - test.right_in_100 / 100) if test.reading else None,
        note=test.note,
        materials=test.materials,
    )


def _modes(document: Document) -> Iterable[FailureMode]:
    for cname, component in document.components.items():
        for mname, mode in component.failure_modes.items():
            yield FailureMode(
                id=f"{cname}.{mname}",
                component=cname,
                title=mode.title,
                calls_per_thousand=mode.calls_per_thousand,
                remedies=tuple(mode.remedies),
                shows=mode.shows_in_100 / 100,
                wear=Wear(mode.wear.shape, mode.wear.life_years) if mode.wear else None,
                raised_by=tuple(
                    (condition, state, factor)
                    for condition, factors in mode.raised_by.items()
                    for state, factor in factors.items()
                ),
                only_if=_requirements(component.only_if) + _requirements(mode.only_if),
                note=mode.note,
            )


def equipment_of(document: Document) -> Equipment:
    """The equipment that a document describes. Its references must already have been checked."""
    d, e = document, document.equipment
    states = {
        **{name: tuple(s.states) for name, s in d.signals.items()},
        **{name: tuple(c.states) for name, c in d.conditions.items()},
        **{name: (*c.failure_modes, SOUND) for name, c in d.components.items()},
    }
    observations = [_symptom(n, s, states[next(iter(s.shows))]) for n, s in d.symptoms.items()]
    observations += [_test(n, t, states[t.reveals], d.unit_states) for n, t in d.tests.items()]
    return Equipment(
        id=e.id,
        title=e.title,
        category=e.category,
        maker=e.maker,
        summary=e.summary,
        data_note=e.data_note,
        currency=e.currency,
        most_faults=e.most_faults,
        coincidence=e.two_faults_in_100 / 100,
        nothing_wrong=e.nothing_wrong_in_100 / 100,
        unlisted=e.unlisted_in_100 / 100,
        options=tuple(e.options),
        cautions=tuple(e.cautions),
        sequence=tuple(
            Step(s.id, s.title, s.happens, s.watch, s.minutes, tuple(s.shows.items())) for s in e.sequence
        ),
        hazards={n: Hazard(n, h.title, tuple(h.precautions)) for n, h in d.hazards.items()},
        instruments=dict(d.instruments),
        unit_states={
            n: UnitState(
                n, u.title, tuple(u.states), u.usual, dict(u.minutes), u.lockout, u.guards, u.live,
                {state: tuple(lost) for state, lost in u.disturbs.items()},
            )
            for n, u in d.unit_states.items()
        },
        conditions={
            n: Condition(
                n, c.title, tuple(c.states), tuple(v / sum(c.states.values()) for v in c.states.values()), c.question,
                {s: c.titles.get(s, _plain(s)) for s in c.states},
            )
            for n, c in d.conditions.items()
        },
        components={
            n: Component(n, c.title, c.group, c.external, c.can_coincide, tuple(f"{n}.{m}" for m in c.failure_modes))
            for n, c in d.components.items()
        },
        modes={m.id: m for m in _modes(d)},
        signals={
            n: Signal(
                n, s.title, tuple(s.states), tuple(_rule(r) for r in s.rules),
                {state: s.titles.get(state, _plain(state)) for state in s.states},
            )
            for n, s in d.signals.items()
        },
        observations={o.id: o for o in observations},
        remedies={
            n: Remedy(
                n, r.title, r.minutes, tuple(r.parts.items()), r.role, r.licence, tuple(r.instruments),
                tuple(r.hazards), tuple(r.how), tuple((u, s) for u, s in r.needs.items() if s != ANY),
                tuple(r.disturbs), r.verify, r.materials,
                None if r.caller is None else CallerWords(r.caller.title, tuple(r.caller.how), r.caller.worked),
            )
            for n, r in d.remedies.items()
        },
        parts={
            n: Part(
                n, p.number, p.title, p.price, p.volume_litres, p.weight_kg, tuple(p.alternatives), p.superseded_by,
                p.consumable,
            )
            for n, p in d.parts.items()
        },
        accepted=tuple(Acceptance(a.code, a.where, a.reason) for a in d.accepted),
    )


__all__ = ["OTHERWISE", "equipment_of", "outcome_chances"]
