"""Check values 10, 11 and 12: trials of intermittent faults, and several faults at once.

10. Success run, n = ln(1 - C) / ln R: reliability/confidence 90/90 takes 22 trials, 90/95 29, 95/95 59.
    Seen, recomputed.
11. A. Wald, "Sequential tests of statistical hypotheses", 1945, with p0 .01, p1 .10, alpha .05, beta
    .10: with none bad it accepts at 24 trials; the line 1.2054 + .03975 n rejects at 2 of 2 bad.
    Memory, recomputed.
12. Noisy-OR: brute force over all fault sets equals the product form. An identity, checked here.
"""

from __future__ import annotations

from functools import cache
from itertools import combinations, product
from math import exp, log, prod

import numpy as np
import pytest

from graph.belief import Belief
from graph.compile import CompiledModel, compile_model
from graph.evidence import VERIFICATION_ERROR
from schemas.load import load_data
from tests.published.asking import ask, component, document, mode, observation, worth

SHOWS = {"relay": 0.3, "plug": 0.55, "switch": 0.12, "board": 1.0}
RATES = {"relay": 12.0, "plug": 30.0, "switch": 45.0, "board": 8.0}


@cache
def moody(shows: float, repeats: int = 1) -> CompiledModel:
    """A switch that may miss now and then, or nothing wrong at all."""
    parts = {"switch": component({"misses": mode(10, "replace", shows_in_100=100 * shows)})}
    tests = {"try_it": observation("switch", {"missed": ["misses"], "clean": ["sound"]}, repeats=repeats)}
    return compile_model(load_data(document(parts, tests, equipment={"nothing_wrong_in_100": 40})))


def odds(belief: Belief) -> float:
    return belief.marginals_of("modes")["switch.misses"] / belief.nothing_left


def left_after(shows: float, trials: int) -> float:
    """By how much clean trials divide the odds of the mode against no fault."""
    model = moody(shows)
    return odds(ask(model, [("try_it", {"clean": trials})])) / odds(ask(model))


@pytest.mark.parametrize("shows", [0.05, 0.1, 0.3, 0.8])
@pytest.mark.parametrize("trials", [1, 2, 7, 30])
def test_clean_trials_leave_their_power(shows: float, trials: int) -> None:
    assert left_after(shows, trials) == pytest.approx((1 - shows) ** trials, rel=1e-12)


@pytest.mark.parametrize(
    ("reliability", "confidence", "trials"), [(0.90, 0.90, 22), (0.90, 0.95, 29), (0.95, 0.95, 59)])
def test_success_run(reliability: float, confidence: float, trials: int) -> None:
    assert left_after(1 - reliability, trials) <= 1 - confidence < left_after(1 - reliability, trials - 1)


@pytest.mark.parametrize("repeats", [2, 3, 10])
def test_a_test_done_as_written_is_all_its_trials(repeats: int) -> None:
    model = moody(0.3, repeats)
    assert odds(ask(model, [("try_it", "clean")])) / odds(ask(model)) == pytest.approx(0.7**repeats, rel=1e-12)
    chances = worth(ask(model))["try_it"].outcomes
    listed = 1 - ask(model).unlisted
    expected = ask(model).marginals_of("modes")["switch.misses"] / listed * (1 - 0.7**repeats)
    assert chances["missed"] == pytest.approx(expected, rel=1e-12)


def test_sessions_of_trials_add_up() -> None:
    apart = ask(moody(0.3), [("try_it", {"clean": 4}), ("try_it", {"clean": 3})])
    assert odds(apart) / odds(ask(moody(0.3))) == pytest.approx(0.7**7, rel=1e-12)


@cache
def two_rates() -> CompiledModel:
    modes = {"seldom": mode(10, "keep", shows_in_100=1), "often": mode(10, "replace", shows_in_100=10)}
    tests = {"try_it": observation("lot", {"bad": ["seldom", "often"], "good": ["sound"]})}
    return compile_model(load_data(document({"lot": component(modes)}, tests)))


def evidence_for_often(counts: dict[str, int]) -> float:
    chances = ask(two_rates(), [("try_it", counts)]).marginals_of("modes")
    return log(chances["lot.often"] / chances["lot.seldom"])


def test_sequential_test_accepts_at_24_with_none_bad() -> None:
    accept = log(0.10 / 0.95)
    assert evidence_for_often({"good": 24}) <= accept < evidence_for_often({"good": 23})
    slope = -evidence_for_often({"good": 1}) / (evidence_for_often({"bad": 1}) - evidence_for_often({"good": 1}))
    assert slope == pytest.approx(0.03975, abs=5e-6)


def test_sequential_test_rejects_at_two_of_two_bad() -> None:
    reject = log(0.90 / 0.05)
    assert evidence_for_often({"bad": 1}) < reject <= evidence_for_often({"bad": 2})


@cache
def several() -> CompiledModel:
    parts = {name: component({"fails": mode(RATES[name], f"replace_{name}", shows_in_100=100 * shows)})
             for name, shows in SHOWS.items()}
    rules = [{"when": {"any_fault": [f"{name}.fails" for name in SHOWS]}, "state": "stopped"}, {"state": "running"}]
    signals = {"run": {"title": "Running", "states": ["running", "stopped"], "rules": rules}}
    tests = {"try_it": observation("run", {"stops": ["stopped"], "runs_on": ["running"]})}
    head = {"most_faults": 4, "two_faults_in_100": 20, "nothing_wrong_in_100": 10}
    return compile_model(load_data(document(parts, tests, signals=signals, equipment=head)))


def rows_by_set(belief: Belief) -> dict[frozenset[str], float]:
    hypotheses = belief.model.hypotheses
    named = {}
    for members, chance, outside in zip(hypotheses.members, belief.rows, hypotheses.unlisted, strict=True):
        if not outside:
            named[frozenset(hypotheses.modes[m].split(".")[0] for m in members if m >= 0)] = float(chance)
    return named


def every_set() -> list[frozenset[str]]:
    return [frozenset(some) for size in range(5) for some in combinations(SHOWS, size)]


def brute_force(some: frozenset[str]) -> float:
    """P(stops), summed over each way that the faults of a set can show or not."""
    names = sorted(some)
    return sum(
        prod(SHOWS[n] if now else 1 - SHOWS[n] for n, now in zip(names, showing, strict=True))
        for showing in product((False, True), repeat=len(names)) if any(showing)
    )


def test_noisy_or_over_every_fault_set() -> None:
    before, after = rows_by_set(ask(several())), rows_by_set(ask(several(), [("try_it", "stops")]))
    assert set(before) == set(every_set())
    scale = after[frozenset({"board"})] / before[frozenset({"board"})]
    for some in every_set():
        product_form = 1 - prod(1 - SHOWS[n] for n in some)
        assert brute_force(some) == pytest.approx(product_form, abs=1e-15)
        assert after[some] / before[some] / scale == pytest.approx(product_form, abs=1e-12)


def test_chance_that_it_stops_is_the_sum_over_fault_sets() -> None:
    before = rows_by_set(ask(several()))
    expected = sum(chance * brute_force(some) for some, chance in before.items()) / sum(before.values())
    assert worth(ask(several()))["try_it"].outcomes["stops"] == pytest.approx(expected, rel=1e-12)


def test_trial_run_after_a_repair_is_a_noisy_or_of_what_is_left() -> None:
    """Before: P(set). After replacing the board and a trial run that went well: what is left of each."""
    after = rows_by_set(ask(several(), [("replace_board", "runs")]))
    expected = dict.fromkeys(every_set(), 0.0)
    for some, chance in rows_by_set(ask(several())).items():
        left = some - {"board"}
        quiet = prod(1 - SHOWS[n] for n in left)
        expected[left] += chance * (VERIFICATION_ERROR + (1 - 2 * VERIFICATION_ERROR) * quiet)
    total = sum(expected.values())
    ours = np.array([after[some] / sum(after.values()) for some in every_set()])
    np.testing.assert_allclose(ours, [expected[some] / total for some in every_set()], rtol=0, atol=1e-12)


def test_large_counts_do_not_underflow() -> None:
    assert ask(moody(0.1), [("try_it", {"clean": 100})]).nothing_left == pytest.approx(1 - exp(-10), abs=1e-3)
