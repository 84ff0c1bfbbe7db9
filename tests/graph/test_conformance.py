"""What must hold of every machine: the written ones and any number of random ones."""

from __future__ import annotations

import json
import re
from collections import defaultdict
from itertools import pairwise
from random import Random
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from graph.belief import Belief
from graph.conflict import conflict
from graph.evidence import NEUTRAL
from graph.gain import class_entropy, gains
from tests.graph.counting import entropy
from tests.graph.drawn import RANDOM, SOURCES, WRITTEN, Case, cases, compiled, observed
from tests.machines import Plain

each_source = pytest.mark.parametrize("source", SOURCES)
CLOSE: dict[str, Any] = {"rtol": 0, "atol": 1e-12}


def same_bits(one: Belief, other: Belief) -> bool:
    return one.rows.tobytes() == other.rows.tobytes() and one.before.tobytes() == other.before.tobytes()


def test_the_shipped_machines_are_among_those_tried() -> None:
    assert {"quillmere-c45", "urn"} <= set(WRITTEN)


@each_source
@given(data=st.data())
def test_chances_add_up_to_one(source: str, data: st.DataObject) -> None:
    case = data.draw(cases(source))
    belief = case.believe()
    assert belief.rows.min() >= 0
    assert belief.rows.sum() == pytest.approx(1, abs=1e-12)
    assert belief.before.sum() == pytest.approx(1, abs=1e-12)
    for condition in case.machine.model.equipment.conditions:
        shares = belief.conditions()[condition]
        assert shares.min() >= 0
        assert shares.sum() == pytest.approx(1, abs=1e-12)


@each_source
@given(data=st.data())
def test_the_order_of_findings_of_different_observations_does_not_matter(source: str, data: st.DataObject) -> None:
    case = data.draw(cases(source, remedies=False))
    findings = list({about: (about, said) for about, said in case.findings}.values())
    other = data.draw(st.permutations(findings))
    np.testing.assert_allclose(case.believe(other).rows, case.believe(findings).rows, **CLOSE)


@each_source
@given(data=st.data())
def test_what_was_not_found_out_changes_nothing(source: str, data: st.DataObject) -> None:
    case = data.draw(cases(source))
    equipment = case.machine.model.equipment
    about = data.draw(st.sampled_from(sorted([*equipment.observations, *equipment.remedies])))
    place = data.draw(st.integers(0, len(case.findings)))
    more = list(case.findings)
    more.insert(place, (about, data.draw(st.sampled_from(NEUTRAL))))
    assert same_bits(case.believe(more), case.believe())


@each_source
@given(data=st.data())
def test_a_case_replays_to_the_same_bits(source: str, data: st.DataObject) -> None:
    case = data.draw(cases(source))
    first = case.believe()
    extra = data.draw(observed(case.machine.model))
    case.believe([*case.findings, extra])
    assert same_bits(first, case.believe()), "a finding that was withdrawn left a trace"
    again = case.machine.again.believe(case.findings, case.known)
    assert same_bits(first, again)
    for one, other in zip(_arrays(first), _arrays(again), strict=True):
        assert one.tobytes() == other.tobytes()


def _arrays(belief: Belief) -> list[np.ndarray[Any, Any]]:
    worth = gains(belief)
    return [worth.classes, worth.hypotheses, worth.outcomes]


@each_source
@given(data=st.data())
def test_gains_are_within_their_bounds(source: str, data: st.DataObject) -> None:
    belief = data.draw(cases(source)).believe()
    worth = gains(belief)
    assert worth.classes.min() >= 0
    assert worth.hypotheses.min() >= 0
    assert (worth.classes <= worth.hypotheses + 1e-9).all()
    assert worth.classes.max() <= class_entropy(belief) + 1e-9


@each_source
@given(data=st.data())
def test_outcome_chances_add_up_to_the_chance_that_it_can_be_made(source: str, data: st.DataObject) -> None:
    case = data.draw(cases(source))
    belief = case.believe()
    outcomes = gains(belief).outcomes
    equipment = case.machine.model.equipment
    for watch in case.machine.model.watches:
        total = outcomes[watch.first: watch.first + len(watch.observation.outcomes)].sum()
        needs = watch.observation.only_if
        made = 1.0
        for condition, states in needs:
            shares = dict(zip(equipment.conditions[condition].states, belief.conditions()[condition], strict=True))
            made *= sum(shares[s] for s in states)
        if len(needs) <= 1:
            assert total == pytest.approx(made, abs=2e-9), watch.observation.id


@each_source
@given(data=st.data())
def test_what_is_likely_comes_likeliest_first_and_equal_chances_by_name(source: str, data: st.DataObject) -> None:
    belief = data.draw(cases(source)).believe()
    for kind in belief.model.marginals:
        chances = belief.marginals_of(kind)
        named = belief.likely(kind, 0.01)
        assert dict(named) == {name: chance for name, chance in chances.items() if chance >= 0.01}
        for (one, greater), (other, less) in pairwise(named):
            assert greater > less - 1e-12
            assert one < other or greater - less > 1e-13


# --- against counting out every possibility ------------------------------------------------


def assert_counted(case: Case, observations: int) -> None:
    """The engine's answers are those of counting, to 1e-9."""
    machine = case.machine
    belief, counting = case.believe(), machine.counting
    possible = counting.believe(case.findings, case.known)
    chances: dict[str, float] = defaultdict(float)
    repairs: dict[Any, float] = defaultdict(float)
    for faults, _, chance in possible:
        repairs[counting.repair(faults)] += chance
        for mode in faults or ():
            chances[mode] += chance
    expected = {mode: chances[mode] for mode in machine.model.equipment.modes}
    assert belief.marginals_of("modes") == pytest.approx(expected, rel=0, abs=1e-9)
    assert belief.unlisted == pytest.approx(sum(p.chance for p in possible if p.faults is None), abs=1e-9)
    assert belief.nothing_left == pytest.approx(sum(p.chance for p in possible if p.faults == frozenset()), abs=1e-9)
    assert class_entropy(belief) == pytest.approx(entropy(repairs.values()), abs=1e-9)
    for condition in dict(possible[0].conditions):
        shares = list(counting.shares(possible, condition).values())
        np.testing.assert_allclose(belief.conditions()[condition], shares, rtol=0, atol=1e-9)
    worth = gains(belief)
    watches = machine.model.watches
    named = [w for w in watches if w.observation.reading is None]  # readings: test_readings_gain, by quadrature
    for watch in Random(len(case.findings)).sample(named, min(observations, len(named))):
        i = machine.model.by_id[watch.observation.id]
        by_class, by_hypothesis = counting.gains(watch.observation.id, possible)
        assert worth.classes[i] == pytest.approx(by_class, abs=1e-9), watch.observation.id
        assert worth.hypotheses[i] == pytest.approx(by_hypothesis, abs=1e-9), watch.observation.id


@settings(max_examples=300)
@given(case=cases(RANDOM))
def test_counting_agrees_on_random_machines(case: Case) -> None:
    assert_counted(case, observations=8)


@settings(max_examples=40)
@given(case=cases("urn"))
def test_counting_agrees_on_the_urn(case: Case) -> None:
    assert_counted(case, observations=8)


@pytest.mark.parametrize("source", ["quillmere-b8", "quillmere-c45"])
@settings(max_examples=3)
@given(data=st.data())
def test_counting_agrees_on_large_machines(source: str, data: st.DataObject) -> None:
    """The largest that counting manages in seconds; tests/published holds all shipped ones against pyAgrum."""
    assert_counted(data.draw(cases(source, most=4)), observations=2)


# --- what things are called, and where they stand in the document, does not matter ----------


def shuffled(document: Plain, dice: Random) -> Plain:
    """The same document with its maps in another order; the order of modes, states and rules means something."""
    result = dict(document)
    for group in ("conditions", "components", "signals", "symptoms", "tests", "remedies", "parts"):
        entries = list(document.get(group, {}).items())
        dice.shuffle(entries)
        result[group] = dict(entries)
    return result


def renamed(value: Any, dice: Random) -> Any:
    """The same data of a random machine with other names in it."""
    numbers = dice.sample(range(100, 1000), 100)
    named = re.compile(r"\b(component|signal|remedy|test|symptom)_(\d+)\b")
    return json.loads(named.sub(lambda m: f"{m[1]}_{numbers[int(m[2])]}", json.dumps(value)))


def assert_same_answers(before: Belief, after: Belief, names: dict[str, str]) -> None:
    expected = {names[mode]: chance for mode, chance in before.marginals_of("modes").items()}
    assert after.marginals_of("modes") == pytest.approx(expected, rel=0, abs=1e-12)
    assert after.unlisted == pytest.approx(before.unlisted, abs=1e-12)
    worth, worth_after = gains(before), gains(after)
    for name, i in before.model.by_id.items():
        k = after.model.by_id[names[name]]
        assert worth_after.classes[k] == pytest.approx(worth.classes[i], abs=1e-12)
        assert worth_after.hypotheses[k] == pytest.approx(worth.hypotheses[i], abs=1e-12)


@each_source
@settings(max_examples=25)
@given(data=st.data(), seed=st.integers(0, 99))
def test_the_order_of_the_document_does_not_matter(source: str, data: st.DataObject, seed: int) -> None:
    case = data.draw(cases(source))
    other = compiled(shuffled(case.machine.document, Random(seed)))
    equipment = case.machine.model.equipment
    same = {name: name for name in [*equipment.modes, *equipment.observations]}
    assert_same_answers(case.believe(), other.believe(case.findings, case.known), same)


@settings(max_examples=60)
@given(case=cases(RANDOM), seed=st.integers(0, 99))
def test_names_do_not_matter(case: Case, seed: int) -> None:
    other = compiled(renamed(case.machine.document, Random(seed)))
    findings = [(about, said) for about, said in renamed(case.findings, Random(seed))]
    equipment = case.machine.model.equipment
    names = {name: renamed(name, Random(seed)) for name in [*equipment.modes, *equipment.observations]}
    assert any(old != new for old, new in names.items())
    assert_same_answers(case.believe(), other.believe(findings, case.known), names)


# --- evidence that can't be ----------------------------------------------------------------


@settings(max_examples=200)
@given(data=st.data())
def test_impossible_evidence_is_a_conflict_and_points_outside_the_graph(data: st.DataObject) -> None:
    case = data.draw(cases(RANDOM, remedies=False))
    belief = case.believe()
    assume(len(belief.evidence) > 1)
    counting = case.machine.counting
    possible = counting.believe(case.findings, case.known)
    impossible = all(p.faults is None for p in possible if p.chance > 0)
    assert belief.rows.sum() == pytest.approx(1, abs=1e-12)
    if impossible:
        found = conflict(belief)
        assert belief.unlisted == pytest.approx(1, abs=1e-12)
        assert found is not None
        assert found.nats == float("inf")

