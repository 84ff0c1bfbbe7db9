"""Check values 1, 2 and 3: how many tests it takes.

1. After K. R. Pattipati and M. G. Alexandridis, IEEE Transactions on Systems, Man, and Cybernetics
   20(4), 1990, 872-887. Its abstract was seen; the matrix is from memory, so this is "after" the paper
   and not of it. Optimum 2.18, greedy 2.86, Huffman bound 1.59, entropy 1.4549 bits: recomputed.
2. Half-split of a chain, by Huffman's construction: recomputed.
3. The six letters of Cormen et al., Introduction to Algorithms: memory, recomputed.
"""

from __future__ import annotations

from functools import cache
from itertools import combinations

import pytest

from graph.compile import CompiledModel, compile_model
from schemas.load import load_data
from tests.published.asking import (
    ask,
    component,
    document,
    entropy,
    fewest_tests,
    greedy_tests,
    huffman_length,
    mode,
    observation,
    worth,
)

PRIOR = {"s0": 0.70, "s1": 0.01, "s2": 0.02, "s3": 0.10, "s4": 0.05, "s5": 0.12}
FAILS = {"s0": "00000", "s1": "01001", "s2": "00110", "s3": "10011", "s4": "11000", "s5": "11110"}
LETTERS = {"a": 0.45, "b": 0.13, "c": 0.12, "d": 0.16, "e": 0.09, "f": 0.05}


@cache
def six_states() -> CompiledModel:
    """The state without fault is `nothing_wrong`; the five others are modes of one component."""
    modes = {s: mode(1000 * p, f"repair_{s}") for s, p in PRIOR.items() if s != "s0"}
    tests = {
        f"t{i + 1}": observation("line", {"fails": [s for s in modes if FAILS[s][i] == "1"], "passes": "otherwise"})
        for i in range(5)
    }
    head = {"nothing_wrong_in_100": 100 * PRIOR["s0"]}
    return compile_model(load_data(document({"line": component(modes)}, tests, equipment=head)))


@cache
def chain(links: int) -> CompiledModel:
    """Links in a row; between any two of them one can see whether it still arrives."""
    parts = {f"link_{i}": component({"broken": mode(10, f"replace_{i}")}) for i in range(links)}
    signals = {}
    for i in range(links - 1):
        rules = [{"when": {"any_fault": [f"link_{i}.broken"]}, "state": "absent"}, {"state": "present"}]
        if i:
            rules.insert(0, {"when": {f"after_{i - 1}": "absent"}, "state": "absent"})
        signals[f"after_{i}"] = {"title": "What arrives", "states": ["present", "absent"], "rules": rules}
    outcomes = {"there": ["present"], "gone": ["absent"]}
    tests = {f"look_{i}": observation(f"after_{i}", outcomes) for i in range(links - 1)}
    return compile_model(load_data(document(parts, tests, signals=signals)))


@cache
def letters() -> CompiledModel:
    """Six causes and every way to divide them in two."""
    modes = {s: mode(1000 * p, f"repair_{s}") for s, p in LETTERS.items()}
    splits = [some for size in (1, 2, 3) for some in combinations(LETTERS, size)]
    tests = {"split_" + "".join(some): observation("line", {"in_it": list(some), "outside": "otherwise"})
             for some in splits}
    return compile_model(load_data(document({"line": component(modes)}, tests)))


def test_prior_entropy_of_the_six_states() -> None:
    assert entropy(ask(six_states())) == pytest.approx(1.4549, abs=5e-5)


def test_greedy_information_gain_takes_2_86_tests() -> None:
    assert greedy_tests(six_states()) == pytest.approx(2.86, abs=1e-6)


def test_best_strategy_takes_2_18_tests() -> None:
    assert fewest_tests(six_states()) == pytest.approx(2.18, abs=1e-6)


def test_huffman_bound_of_the_six_states_holds() -> None:
    rows = [p for p in ask(six_states()).rows.tolist() if p > 1e-6]
    assert huffman_length(rows) == pytest.approx(1.59, abs=1e-6)
    assert entropy(ask(six_states())) <= huffman_length(rows) < fewest_tests(six_states())


@pytest.mark.parametrize(("links", "tests"), [(8, 3.0), (5, 2.4), (10, 3.4)])
def test_gain_halves_a_chain(links: int, tests: float) -> None:
    assert greedy_tests(chain(links)) == pytest.approx(tests, abs=1e-6)
    assert huffman_length([1 / links] * links) == pytest.approx(tests, abs=1e-12)


def test_first_look_is_in_the_middle_of_the_chain() -> None:
    table = worth(ask(chain(8)))
    assert max(table, key=lambda name: table[name].hypotheses) == "look_3"
    assert table["look_3"].hypotheses == pytest.approx(1.0, abs=1e-6)


def test_every_split_of_six_letters_reaches_huffman() -> None:
    assert fewest_tests(letters()) == pytest.approx(2.24, abs=1e-6)
    assert huffman_length(list(LETTERS.values())) == pytest.approx(2.24, abs=1e-12)
    assert greedy_tests(letters()) >= 2.24 - 1e-6
