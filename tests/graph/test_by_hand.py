"""Small cases of the tea urn that anyone can check with a pocket calculator, and the limits of compiling."""

from __future__ import annotations

from itertools import product
from math import exp, log, prod
from typing import Any

import numpy as np
import pytest

from graph.belief import believe
from graph.columns import repeated
from graph.compile import compile_model
from graph.conflict import conflict
from graph.errors import FindingMisfit, GraphTooLarge, UnknownName
from graph.evidence import finding, log_series_chance
from graph.hypotheses import fault_sets, fault_weight
from schemas.load import load_data
from tests.graph.counting import Counting, ways
from tests.graph.drawn import Machine, compiled, random_machine, written
from tests.machines import large_machine


@pytest.fixture(scope="module")
def urn() -> Machine:
    return written("urn")


def chance(machine: Machine, mode: str, *found: Any, **known: str) -> float:
    return machine.believe(found, known).marginals_of("modes")[mode]


def odds(machine: Machine, mode: str, other: str, *found: Any, **known: str) -> float:
    return chance(machine, mode, *found, **known) / chance(machine, other, *found, **known)


def plain(**changes: Any) -> dict[str, Any]:
    """One signal, two steady modes, one that comes and goes; one fault at a time; one exact test."""
    document: dict[str, Any] = {
        "format": 1,
        "equipment": {"id": "lamp", "title": "Lamp", "category": "Toys", "most_faults": 1},
        "components": {
            "bulb": {"title": "Bulb", "failure_modes": {
                "burnt": {"title": "Burnt", "calls_per_thousand": 30, "remedies": ["swap"]},
                "loose": {"title": "Loose", "calls_per_thousand": 20, "remedies": ["tighten"], "shows_in_100": 25},
            }},
            "plug": {"title": "Plug", "failure_modes": {
                "out": {"title": "Out", "calls_per_thousand": 50, "remedies": ["plug_in"]},
            }},
        },
        "signals": {"light": {"title": "Light", "states": ["lit", "dark"], "rules": [
            {"when": {"any_fault": ["bulb.burnt", "bulb.loose", "plug.out"]}, "state": "dark"}, {"state": "lit"},
        ]}},
        "tests": {"look": {
            "title": "Switch it on", "reveals": "light", "minutes": 1, "right_in_100": 100,
            "outcomes": {"works": ["lit"], "fails": ["dark"]},
        }},
        "remedies": {n: {"title": n, "minutes": 5} for n in ("swap", "tighten", "plug_in")},
    }
    document["equipment"].update(changes)
    return document


# --- trials ----------------------------------------------------------------------------------


@pytest.mark.parametrize("times", [1, 2, 5, 20])
def test_clean_trials_leave_an_intermittent_mode_its_chance_of_hiding(times: int) -> None:
    lamp = compiled(plain())
    before = lamp.believe()
    after = lamp.believe([("look", {"works": times})])
    sound = after.nothing_left / before.nothing_left
    survived = after.marginals_of("modes")["bulb.loose"] / before.marginals_of("modes")["bulb.loose"]
    assert survived / sound == pytest.approx(0.75**times, rel=1e-12)
    assert after.marginals_of("modes")["bulb.burnt"] == 0


@pytest.mark.parametrize("times", [1, 2, 5])
def test_trials_one_by_one_count_like_a_series(times: int) -> None:
    lamp = compiled(plain())
    one_by_one = lamp.believe([("look", "works")] * times)
    counted = lamp.believe([("look", {"works": times})])
    modes = one_by_one.marginals_of("modes")
    assert modes["bulb.loose"] / one_by_one.nothing_left == pytest.approx(
        counted.marginals_of("modes")["bulb.loose"] / counted.nothing_left, rel=1e-12)


@pytest.mark.parametrize("quarter", [1, 5, 20, 2_000])
def test_a_long_series_points_to_what_explains_it_and_not_outside_the_graph(quarter: int) -> None:
    """It worked three times in four, which is just what a loose bulb does."""
    series = compiled(plain()).believe([("look", {"works": 3 * quarter, "fails": quarter})])
    assert series.rows.sum() == pytest.approx(1)
    assert series.marginals_of("modes")["bulb.loose"] > 0.9


def test_a_steady_state_gives_nothing_new_when_tested_again(urn: Machine) -> None:
    again = [("read_probe", "blocked")] * 3
    once = urn.believe(again[:1])
    assert urn.believe(again).rows.tobytes() == once.rows.tobytes()


def test_the_newer_outcome_replaces_the_older(urn: Machine) -> None:
    changed = urn.believe([("read_probe", "blocked"), ("stays_cold", "present"), ("read_probe", "released")])
    newest = urn.believe([("read_probe", "released"), ("stays_cold", "present")])
    np.testing.assert_allclose(changed.rows, newest.rows, rtol=0, atol=1e-12)


def test_repeats_of_a_test_are_all_done_before_it_says_so() -> None:
    """Switched on four times, and it shows 1 time in 4: it stays hidden in 0.75^4 of the cases."""
    document = plain()
    document["tests"]["look"]["repeats"] = 4
    before, after = compiled(document).believe(), compiled(document).believe([("look", "works")])
    survived = after.marginals_of("modes")["bulb.loose"] / before.marginals_of("modes")["bulb.loose"]
    assert survived / (after.nothing_left / before.nothing_left) == pytest.approx(0.75**4, rel=1e-12)


@pytest.mark.parametrize("times", [1, 2, 3, 7])
def test_repeated_trials_meet_each_state_at_least_once(times: int) -> None:
    mix, rest = np.array([[0.0, 1.0, 0.0], [0.2, 0.5, 0.3]]), np.array([1, 1])
    met = repeated(mix, rest, times)
    np.testing.assert_allclose(met[0], [0, 1, 0])
    expected = np.zeros(3)
    for states in product(range(3), repeat=times):
        first = next((s for s in states if s != 1), 1)
        expected[first] += prod(mix[1, s] for s in states)
    np.testing.assert_allclose(met[1], expected, rtol=1e-12)


@pytest.mark.parametrize("counts", [(1, 0), (0, 3), (2, 1), (3, 3)])
def test_the_chances_of_a_series_are_those_of_all_its_trials(counts: tuple[int, int]) -> None:
    mix, chances = np.array([0.3, 0.7]), np.array([[0.9, 0.1], [0.2, 0.8]])
    slip = 0.001 if all(counts) else 0.0
    orders = [t for t in product(range(2), repeat=sum(counts)) if (t.count(0), t.count(1)) == counts]
    assert len(orders) == ways(counts)
    expected = 0.0
    for reading in product(range(2), repeat=2):  # what each state reads as, as long as the series lasts
        weight = prod(chances[s, o] for s, o in enumerate(reading))
        for states in product(range(2), repeat=sum(counts)):
            met = prod(mix[s] for s in states)
            told = [[(1 - slip) * (reading[s] == o) + slip / 2 for o in range(2)] for s in states]
            expected += weight * met * prod(t[o] for t, o in zip(told, orders[0], strict=True))
    assert exp(log_series_chance(mix, chances, counts)) == pytest.approx(expected, rel=1e-12)


# --- remedies --------------------------------------------------------------------------------


def test_a_remedy_removes_what_it_fixes_and_later_findings_speak_of_what_is_left(urn: Machine) -> None:
    cold = ("stays_cold", "present")
    repaired = urn.believe([cold, ("replace_element", "done")])
    modes = repaired.marginals_of("modes")
    assert modes["element.burnt_out"] == modes["element.scaled"] == 0
    assert modes["socket.dead"] == pytest.approx(chance(urn, "socket.dead", cold), abs=1e-12)
    still = urn.believe([cold, ("replace_element", "done"), ("look_inside", "clean")])
    assert still.marginals_of("modes")["socket.dead"] == pytest.approx(modes["socket.dead"], abs=5e-3)


def test_a_machine_that_runs_was_repaired(urn: Machine) -> None:
    found = [("stays_cold", "present"), ("measure_element", "about_230_v"), ("replace_element", "runs")]
    assert urn.believe(found).nothing_left > 0.95
    found[-1] = ("replace_element", "still_faulty")
    assert urn.believe(found).nothing_left < 0.2


# --- conditions ------------------------------------------------------------------------------


def test_a_raised_rate_shifts_the_mix_and_not_the_number_of_calls(urn: Machine) -> None:
    np.testing.assert_allclose(urn.believe().conditions()["water_hardness"], [0.3, 0.5, 0.2], atol=1e-12)
    np.testing.assert_allclose(urn.believe().conditions()["level_probe"], [0.25, 0.75], atol=1e-12)
    soft = odds(urn, "element.scaled", "socket.dead", water_hardness="soft")
    hard = odds(urn, "element.scaled", "socket.dead", water_hardness="hard")
    assert hard / soft == pytest.approx(15, rel=0.1)


def test_a_known_condition_is_certain_and_shifts_what_depends_on_it(urn: Machine) -> None:
    belief = urn.believe(known={"level_probe": "none", "water_hardness": "hard"})
    assert belief.marginals_of("modes")["probe.coated"] == 0
    np.testing.assert_array_equal(belief.conditions()["level_probe"], [0, 1])
    np.testing.assert_array_equal(belief.conditions()["water_hardness"], [0, 0, 1])


def test_a_known_condition_that_nothing_depends_on_is_certain_too() -> None:
    document = plain()
    document["conditions"] = {"colour": {"title": "Colour", "states": {"red": 40, "blue": 60}}}
    lamp = compiled(document)
    np.testing.assert_allclose(lamp.believe().conditions()["colour"], [0.4, 0.6])
    np.testing.assert_array_equal(lamp.believe(known={"colour": "red"}).conditions()["colour"], [1, 0])


@pytest.mark.parametrize("outcome", ["released", "blocked"])
def test_a_test_that_only_some_have_proves_that_this_one_has_it(urn: Machine, outcome: str) -> None:
    shares = urn.believe([("read_probe", outcome)]).conditions()["level_probe"]
    np.testing.assert_allclose(shares, [1, 0], atol=1e-7)


def test_a_question_that_only_some_can_be_asked_proves_it_too(urn: Machine) -> None:
    document = {**urn.document, "tests": {**urn.document["tests"], "test_strip": {
        **urn.document["tests"]["test_strip"], "only_if": {"level_probe": "fitted"}}}}
    asked = compiled(document)
    np.testing.assert_allclose(
        asked.believe([("test_strip", "hard")]).conditions()["level_probe"], [1, 0], atol=1e-7)


# --- the prior -------------------------------------------------------------------------------


@pytest.mark.parametrize("most_faults", [2, 3])
@pytest.mark.parametrize("seed", [3, 8, 21])
def test_calls_with_several_faults_have_the_share_the_document_gives(seed: int, most_faults: int) -> None:
    document = large_machine(seed, 15, most_faults)
    document["equipment"]["two_faults_in_100"] = 7
    machine = compiled(document)
    hypotheses = machine.model.hypotheses
    sizes = (hypotheses.members >= 0).sum(axis=1)
    chances = hypotheses.prior.sum(axis=1)
    assert chances[sizes > 1].sum() == pytest.approx(0.07, rel=1e-9)
    assert chances[hypotheses.unlisted].sum() == pytest.approx(0.02)
    assert chances[(sizes == 0) & ~hypotheses.unlisted].sum() == pytest.approx(0.03)
    if most_faults == 3:
        weights = {n: chances[sizes == n].sum() for n in (1, 2, 3)}
        assert weights[1] > weights[2] > weights[3] > 0


def test_the_weight_of_a_further_fault_solves_its_equation() -> None:
    sums = np.array([1.0, 0.4, 0.1])
    weight = fault_weight(sums, 0.2)
    terms = sums * weight ** np.arange(3)
    assert terms[1:].sum() / terms.sum() == pytest.approx(0.2, rel=1e-12)
    assert fault_weight(sums, 0.0) == 0
    assert fault_weight(np.array([1.0, 0.0]), 0.2) == 0


@pytest.mark.parametrize("most", [1, 2, 3])
@pytest.mark.parametrize("seed", range(6))
def test_fault_sets_are_all_those_that_can_be(seed: int, most: int) -> None:
    dice = np.random.default_rng(seed)
    components = np.sort(dice.integers(0, 4, size=6))
    coincide = dice.random(4)[components] < 0.5
    found = {tuple(int(m) for m in row if m >= 0) for row in fault_sets(components, coincide, most, 10_000)}
    expected = {
        tuple(m for m, is_in in enumerate(chosen) if is_in)
        for chosen in product((False, True), repeat=6)
        if sum(chosen) <= most and all(
            coincide[a] or components[a] != components[b] or not (chosen[a] and chosen[b])
            for a in range(6) for b in range(a)
        )
    }
    assert found == expected


# --- refusals and conflicts ------------------------------------------------------------------


def test_a_graph_with_too_many_hypotheses_is_refused_in_time() -> None:
    equipment = load_data(large_machine(1, 200, 4))
    with pytest.raises(GraphTooLarge) as refused:
        compile_model(equipment)
    assert refused.value.pointer == "/equipment/most_faults"
    assert refused.value.expected == "most_faults of 3 or less"


def test_the_limit_is_on_hypotheses() -> None:
    equipment = load_data(large_machine(1, 40, 2))
    rows = compile_model(equipment).rows
    assert compile_model(equipment, limit=2 * rows).rows == rows
    with pytest.raises(GraphTooLarge):
        compile_model(equipment, limit=rows // 2)


def test_single_faults_obey_the_limit_too() -> None:
    with pytest.raises(GraphTooLarge):
        compile_model(load_data(large_machine(1, 300, 1)), limit=100)


@pytest.mark.parametrize("use", ["rate", "signal"])
def test_joint_states_of_many_conditions_obey_the_limit_too(use: str) -> None:
    document = plain()
    names = [f"condition_{i}" for i in range(8)]
    document["conditions"] = {n: {"title": n, "states": {"low": 30, "usual": 50, "high": 20}} for n in names}
    if use == "rate":
        document["components"]["plug"]["failure_modes"]["out"]["raised_by"] = {n: {"high": 2} for n in names}
    else:
        rules = [{"when": {n: "high"}, "state": "dark"} for n in names]
        document["signals"]["light"]["rules"] = [*rules, *document["signals"]["light"]["rules"]]
    with pytest.raises(GraphTooLarge):
        compile_model(load_data(document), limit=1_000)


@pytest.mark.parametrize(
    ("about", "outcome", "nearest"),
    [("stays_cold", "presnt", "present"), ("stays_clod", "present", "stays_cold"),
     ("look_inside", {"cleen": 2}, "clean"), ("descale", "run", "runs")],
)
def test_unknown_names_are_refused_with_the_nearest(urn: Machine, about: str, outcome: Any, nearest: str) -> None:
    with pytest.raises(UnknownName) as refused:
        finding(urn.model, about, outcome)
    assert refused.value.nearest == nearest


def test_unknown_conditions_are_refused(urn: Machine) -> None:
    with pytest.raises(UnknownName):
        believe(urn.model, known={"voltage": "high"})
    with pytest.raises(UnknownName):
        believe(urn.model, known={"level_probe": "fited"})


def test_a_remedy_has_one_outcome(urn: Machine) -> None:
    with pytest.raises(FindingMisfit):
        finding(urn.model, "descale", {"runs": 1, "still_faulty": 1})


def test_what_agrees_is_no_conflict(urn: Machine) -> None:
    assert conflict(urn.believe([("stays_cold", "present"), ("measure_element", "no_voltage")])) is None


def test_a_conflict_names_what_would_resolve_it() -> None:
    """Two tests that are hardly ever wrong contradict each other, a third has nothing to do with it."""
    document = plain()
    del document["components"]["bulb"]["failure_modes"]["loose"]["shows_in_100"]
    look = {**document["tests"]["look"], "right_in_100": 99.9}
    feel = {**look, "reveals": "plug", "outcomes": {"in": ["sound"], "out": ["out"]}, "right_in_100": 60}
    document["tests"] = {"look": look, "measure": look, "feel": feel}
    lamp = compiled(document)
    found = [("look", "works"), ("measure", "fails"), ("feel", "out")]
    clash = conflict(lamp.believe(found))
    assert clash is not None
    assert clash.nats > log(10)
    assert set(clash.culprits) == {("look",), ("measure",)}
    for culprit in clash.culprits:
        assert conflict(lamp.believe([f for f in found if f[0] not in culprit])) is None


def test_counting_itself_gives_each_possibility_its_place() -> None:
    """The reference is checked too: with one fault at a time the prior is only shares of rates."""
    counting = Counting(plain())
    prior = {tuple(sorted(p.faults)) if p.faults is not None else None: p.chance for p in counting.prior}
    assert prior == pytest.approx(
        {(): 0.03, None: 0.02, ("bulb.burnt",): 0.285, ("bulb.loose",): 0.19, ("plug.out",): 0.475})
    assert sum(p.chance for p in random_machine(1).counting.prior) == pytest.approx(1)
