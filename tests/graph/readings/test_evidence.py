"""A reading in a case: its weight by hand, repeats, mixtures, the unlisted cause, misfits, and what it is worth."""

from __future__ import annotations

from copy import deepcopy
from functools import cache
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from graph.advice import advise
from graph.belief import Belief, believe
from graph.compile import CompiledModel, compile_model
from graph.conflict import conflict
from graph.context import Asker
from graph.errors import FindingMisfit, UnitMisfit, UnknownName
from graph.evidence import Finding, finding
from graph.gain import gains
from graph.policy.worktable import situation
from graph.readings.cuts import MOST_BITS, edges
from graph.readings.likelihood import outlook
from graph.readings.taking import Given
from schemas.load import load_data
from tests.graph.readings.specimens import ice_maker

PROBE: dict[str, Any] = {
    "format": 1,
    "equipment": {"id": "probe", "title": "Probe", "category": "test", "unlisted_in_100": 2, "most_faults": 1,
                  "nothing_wrong_in_100": 3},
    "conditions": {"air": {"title": "Air", "states": {"mild": 70, "hot": 30}}},
    "components": {"probe": {"title": "Probe", "failure_modes": {
        "open": {"title": "Open", "calls_per_thousand": 30, "remedies": ["swap"]},
        "drifts": {"title": "Drifts", "calls_per_thousand": 60, "remedies": ["swap"],
                   "raised_by": {"air": {"hot": 3}}},
        "flickers": {"title": "Flickers", "calls_per_thousand": 10, "shows_in_100": 30, "remedies": ["clean"]},
    }}},
    "signals": {"loop": {"title": "Loop", "states": ["broken", "whole"], "rules": [
        {"when": {"any_fault": ["probe.open", "probe.flickers"]}, "state": "broken"}, {"state": "whole"}]}},
    "tests": {
        "ohms": {
            "title": "Ohms of the probe", "reveals": "probe", "minutes": 4, "right_in_100": 96,
            "outcomes": {"right": "otherwise", "high": ["drifts"], "open": ["open"]},
            "reading": {
                "quantity": "resistance", "unit": "kOhm", "accuracy_percent": 1,
                "at": {"bath": {"title": "Bath", "unit": "Cel", "usual": 0, "accuracy": 0.2, "varies": 2}},
                "expected": {
                    "otherwise": {"title": "a good probe", "curve": "ntc", "tolerance_percent": 2,
                                  "of": {"ohms_at_25": 10_000, "b": 3435, "celsius": "bath"}},
                    "drifts": {"title": "a drifted one", "like": "otherwise", "factor": [1.2, 1.8]},
                    "open": {"title": "an open one", "low": 1000},
                },
            },
        },
        "loop_ohms": {
            "title": "Ohms of the loop", "reveals": "loop", "minutes": 2, "right_in_100": 98,
            "outcomes": {"whole": ["whole"], "broken": ["broken"]},
            "reading": {"quantity": "resistance", "unit": "Ohm",
                        "expected": {"whole": {"low": 1000, "high": 60_000}, "broken": {"low": 1_000_000}}},
        },
        "air_temperature": {
            "title": "Air", "reveals": "air", "minutes": 1, "right_in_100": 95,
            "outcomes": {"mild": ["mild"], "hot": ["hot"]},
            "reading": {"quantity": "temperature", "unit": "Cel", "accuracy_counts": 5, "display_step": 0.1,
                        "expected": {"mild": {"low": 10, "high": 28}, "hot": {"low": 32, "high": 45}}},
        },
    },
    "remedies": {"swap": {"title": "Swap", "minutes": 10}, "clean": {"title": "Clean", "minutes": 5}},
}


@cache
def probe() -> CompiledModel:
    return compile_model(load_data(PROBE))


def read(about: str, value: float, unit: str, outcome: str | None = None, **at: float) -> Finding:
    return finding(probe(), about, outcome, "/findings/0", Given(value, unit, at))


def odds(belief: Belief, one: str, other: str) -> float:
    chances = belief.marginals_of("modes")
    return chances[one] / chances[other]


def ratios(test: str, value: float, **at: float) -> dict[str, float]:
    reading = probe().equipment.observations[test].reading
    assert reading is not None
    states = probe().equipment.states_of(probe().equipment.observations[test].reveals)
    return dict(zip(states, np.exp(outlook(reading, at).log_ratios(value)).tolist(), strict=True))


@pytest.mark.parametrize("kilohms", [28.7, 27.9, 36.0, 45.0, 5000.0, 12.0])
def test_the_weight_of_a_reading_is_the_ratio_of_densities(kilohms: float) -> None:
    before, after = believe(probe()), believe(probe(), [read("ohms", kilohms, "kOhm", bath=0)])
    told = ratios("ohms", kilohms, bath=0)
    for one, other in (("drifts", "open"), ("flickers", "drifts"), ("open", "flickers")):
        expected = odds(before, f"probe.{one}", f"probe.{other}") * told[one] / told[other]
        assert odds(after, f"probe.{one}", f"probe.{other}") == pytest.approx(expected, rel=1e-9)


def test_the_named_outcome_beside_a_reading_is_not_counted_twice() -> None:
    alone = believe(probe(), [read("ohms", 36.0, "kOhm", bath=0)])
    both = believe(probe(), [read("ohms", 36.0, "kOhm", "high", bath=0)])
    assert alone.rows.tobytes() == both.rows.tobytes()
    assert read("ohms", 36.0, "kOhm", bath=0).counts == (("high", 1),)


def test_the_unit_it_was_written_in_does_not_matter() -> None:
    one, other = (believe(probe(), [read("ohms", v, u)]) for v, u in ((36.0, "kΩ"), (36_000.0, "Ohm")))
    np.testing.assert_allclose(one.rows, other.rows, rtol=0, atol=1e-12)


def test_the_newer_reading_of_a_steady_state_replaces_the_older() -> None:
    first, second = read("ohms", 5000.0, "kOhm", bath=0), read("ohms", 28.7, "kOhm", bath=0)
    both, newest = believe(probe(), [first, second]), believe(probe(), [second])
    assert odds(both, "probe.open", "probe.drifts") == pytest.approx(odds(newest, "probe.open", "probe.drifts"))
    # what comes and goes may have shown itself in between: of that the older one speaks too
    assert odds(both, "probe.flickers", "probe.drifts") != pytest.approx(odds(newest, "probe.flickers", "probe.drifts"))


def test_a_fault_that_comes_and_goes_is_a_mixture_and_every_reading_of_it_counts() -> None:
    told = ratios("loop_ohms", 12_000)
    good = read("loop_ohms", 12_000, "Ohm")
    mixed = (0.3 * told["broken"] + 0.7 * told["whole"]) / told["whole"]
    start = odds(believe(probe()), "probe.flickers", "probe.drifts")
    for times in (1, 2, 5):
        after = odds(believe(probe(), [good] * times), "probe.flickers", "probe.drifts")
        assert after == pytest.approx(start * mixed**times, rel=1e-9)


def test_a_reading_of_a_condition_that_only_shifts_rates() -> None:
    told = ratios("air_temperature", 38.0)
    before = believe(probe()).conditions()["air"]
    after = believe(probe(), [read("air_temperature", 38.0, "Cel")]).conditions()["air"]
    # over the listed causes, and the unlisted one alike
    assert after[1] / after[0] == pytest.approx(before[1] / before[0] * told["hot"] / told["mild"], rel=1e-9)


def test_the_unlisted_cause_predicts_what_the_listed_ones_do() -> None:
    prior, found = believe(probe()), read("ohms", 36.0, "kOhm", bath=0)
    told = ratios("ohms", 36.0, bath=0)
    listed = prior.rows[:-1]
    chances = prior.marginals_of("modes")
    sound = 1 - prior.unlisted - sum(chances.values())
    predicted = (sum(c * told[m.split(".")[1]] for m, c in chances.items()) + sound * told["sound"]) / listed.sum()
    after = believe(probe(), [found])
    expected = prior.unlisted / chances["probe.open"] * predicted / told["open"]
    assert after.unlisted / after.marginals_of("modes")["probe.open"] == pytest.approx(expected, rel=1e-9)


def test_readings_that_contradict_each_other_are_a_conflict() -> None:
    belief = believe(probe(), [read("ohms", 5000.0, "kOhm", bath=0), read("loop_ohms", 12_000, "Ohm")])
    found = conflict(belief)
    assert found is not None
    assert ("ohms",) in found.culprits
    assert belief.unlisted > believe(probe()).unlisted


def test_a_reading_that_fits_nothing_says_little_and_is_to_be_looked_at_again() -> None:
    wrong = read("ohms", 28.7, "Ohm", bath=0)
    np.testing.assert_allclose(believe(probe(), [wrong]).rows, believe(probe()).rows, rtol=0, atol=0.02)
    answer = advise(probe(), [wrong], budget=0)
    assert answer.conflict is not None
    assert "check the instrument, the unit, or the graph" in answer.conflict.sentence
    assert answer.conflict.withdraw == (("ohms",),)
    report = answer.readings[0]
    assert not report.fits
    assert report.state is None
    assert report.slip is not None and "28.7 kΩ, not Ω" in report.slip
    assert answer.next_step.id == "ohms"


def test_the_answer_says_what_was_expected_and_how_far_off_it_is() -> None:
    report = advise(probe(), [read("ohms", 36.0, "kOhm", bath=2)], budget=0).readings[0]
    assert report.given == "36 kΩ at 2 °C"
    assert report.state == "drifts"
    # 10 kΩ exp(3435 (1/275.15 - 1/298.15)) = 26.2 kΩ, by hand
    assert report.sentence.startswith("36 kΩ at 2 °C; a good probe reads 26.2")
    assert "an open one over 1 MΩ" in report.sentence
    assert "It reads like a drifted one; 9.8 kΩ too high for a good probe." in report.sentence
    assert report.expected[0].low is not None and report.expected[0].low < 26.2 < (report.expected[0].high or 0)
    assert report.expected[-1].high is None
    assert report.assumed == ()


def test_what_was_taken_for_granted_is_said_and_widens_what_is_expected() -> None:
    said, unsaid = (advise(probe(), [f], budget=0).readings[0] for f in (
        read("ohms", 28.7, "kOhm", bath=0), read("ohms", 28.7, "kOhm")))
    assert any("Bath was not given: 0 °C give or take 2" in note for note in unsaid.assumed)
    width = [(r.expected[0].high or 0) - (r.expected[0].low or 0) for r in (said, unsaid)]
    assert width[1] > 2 * width[0]


def test_a_reading_that_denies_the_named_outcome_is_believed_and_a_note_says_so() -> None:
    answer = advise(probe(), [read("ohms", 28.7, "kOhm", "open", bath=0)], budget=0)
    assert any("does not go with “open”" in note for note in answer.notes)
    quiet = advise(probe(), [read("ohms", 28.7, "kOhm", "right", bath=0)], budget=0)
    assert not any("does not go" in note for note in quiet.notes)


@pytest.mark.parametrize(("value", "unit", "at", "error", "pointer"), [
    (float("nan"), "kOhm", {}, FindingMisfit, "/findings/0/reading/value"),
    (1e300, "kOhm", {}, FindingMisfit, "/findings/0/reading/value"),
    (28.7, "kohhms", {}, UnknownName, "/findings/0/reading/unit"),
    (28.7, "Cel", {}, UnitMisfit, "/findings/0/reading/unit"),
    (-5, "kOhm", {}, UnitMisfit, "/findings/0/reading/value"),
    (28.7, "kOhm", {"bad": 1.0}, UnknownName, "/findings/0/reading/at/bad"),
    (28.7, "kOhm", {"bath": 4000.0}, FindingMisfit, "/findings/0/reading/at"),
    (28.7, "kOhm", {"bath": -300.0}, UnitMisfit, "/findings/0/reading/at/bath"),
])
def test_what_is_refused(
    value: float, unit: str, at: dict[str, float], error: type[Exception], pointer: str
) -> None:
    with pytest.raises(error) as refused:
        finding(probe(), "ohms", None, "/findings/0", Given(value, unit, at))
    assert getattr(refused.value, "pointer", None) == pointer


def test_an_outcome_or_a_reading_is_needed_and_a_series_has_none() -> None:
    with pytest.raises(FindingMisfit) as refused:
        finding(probe(), "ohms", None, "/findings/0")
    assert refused.value.pointer == "/findings/0/outcome"
    with pytest.raises(FindingMisfit):
        finding(probe(), "ohms", {"right": 2}, "", Given(28.7, "kOhm"))
    with pytest.raises(FindingMisfit):
        finding(probe(), "swap", None, "", Given(28.7, "kOhm"))


def test_absolute_and_gauge_turn_into_one_another_only_where_the_unit_says_so() -> None:
    gauge = finding(ice_maker(), "nitrogen_test", None, "", Given(12.0, "bar"))
    absolute = finding(ice_maker(), "nitrogen_test", None, "", Given(13.01325, "bar{absolute}"))
    assert gauge.number is not None and absolute.number is not None
    assert absolute.number.value == pytest.approx(gauge.number.value, abs=1e-9)
    report = advise(ice_maker(), [absolute], budget=0).readings[0]
    assert any("1013.25 hPa" in note for note in report.assumed)
    assert report.given.endswith("bar absolute (12 bar gauge)")


def test_a_test_with_a_reading_is_done_like_any_other() -> None:
    named = finding(ice_maker(), "probe_ice_bath", "right")
    number = finding(ice_maker(), "probe_ice_bath", None, "", Given(14.4, "kOhm", {"bath": 0.0}))
    assert situation(ice_maker(), [named], Asker()) == situation(ice_maker(), [number], Asker())


def test_could_not_tell_beside_a_reading_changes_nothing() -> None:
    found = read("ohms", 36.0, "kOhm", "could_not_tell")
    assert believe(probe(), [found]).rows.tobytes() == believe(probe()).rows.tobytes()


def joint_over_a_reading(belief: Belief, test: str) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """P(row, number) by quadrature, and the class of each row; the unlisted cause shows what the listed ones do."""
    model = belief.model
    watch = model.watches[model.by_id[test]]
    reading = watch.observation.reading
    assert reading is not None
    column = model.columns[watch.column]
    look = outlook(reading, {c.id: c.usual for c in reading.circumstances}, rough=True)
    nodes, weights = np.polynomial.legendre.leggauss(3)
    columns = []
    for low, high in pairwise([*np.array(edges(look))]):
        for node, weight in zip(nodes, weights, strict=True):
            x = (low + high) / 2 + node * (high - low) / 2
            columns.append(np.exp(look.log_ratios(x)) * look.reference(x) * weight * (high - low) / 2)
    table = np.array(columns).T
    table = np.column_stack([table, np.maximum(1 - table.sum(axis=1), 0)])
    pattern = model.patterns[watch.column]
    listed = belief.prior.masses[column.first: column.first + len(column.mix)]
    chances = np.concatenate([column.mix @ table, np.zeros((column.count - len(column.mix), table.shape[1]))])
    if column.unlisted is not None:
        chances[column.unlisted] = listed @ column.mix @ table / listed.sum()
    if column.foreign is not None:
        known = pattern != column.foreign
        return belief.rows[known, None] * chances[pattern[known]], model.classes.of_row[known]
    return belief.rows[:, None] * chances[pattern], model.classes.of_row


def bits(joint: np.ndarray[Any, Any]) -> float:
    def spread(mass: np.ndarray[Any, Any]) -> float:
        kept = mass[mass > 0]
        return float((kept * np.log2(kept)).sum())
    return spread(joint) - spread(joint.sum(axis=0)) - spread(joint.sum(axis=1)) + spread(joint.sum(keepdims=True))


READ = sorted(o.id for o in ice_maker().equipment.tests.values() if o.reading is not None)


def test_the_ice_maker_reads_a_number_wherever_a_technician_would() -> None:
    assert len(READ) >= 18


@pytest.mark.parametrize("test", READ)
def test_the_gain_is_that_of_the_number(test: str) -> None:
    """Over hypotheses and over repairs, against quadrature."""
    for story in ({}, {"look_lamp": "amber", "read_alarm": "three"}, {"compressor_listen": "hums"}):
        belief = believe(ice_maker(), [finding(ice_maker(), a, o) for a, o in story.items()])
        worth, i = gains(belief), ice_maker().by_id[test]
        joint, classes = joint_over_a_reading(belief, test)
        by_class = np.zeros((classes.max() + 1, joint.shape[1]))
        np.add.at(by_class, classes, joint)
        assert worth.hypotheses[i] == pytest.approx(bits(joint), abs=MOST_BITS)
        assert worth.classes[i] == pytest.approx(bits(by_class), abs=2 * MOST_BITS)


def test_a_machine_replays_to_the_same_bits() -> None:
    again = compile_model(load_data(deepcopy(PROBE)))
    found = read("ohms", 36.0, "kOhm", bath=1)
    assert believe(again, [found]).rows.tobytes() == believe(probe(), [found]).rows.tobytes()
    assert gains(believe(again)).classes.tobytes() == gains(believe(probe())).classes.tobytes()
