"""Check value 5: three multipliers and two adders.

J. de Kleer and B. Williams, "Diagnosing multiple faults", Artificial Intelligence 32, 1987, 97-130.
Inputs A=3 B=2 C=2 D=3 E=3; X=A*C, Y=B*D, Z=C*E, F=X+Y is seen as 10 and G=Y+Z as 12. Minimal
diagnoses {M1} {A1} {M2,M3} {M2,A2} and the best probe, X: seen. P(M1) = P(A1) = .4976 with prior .01
each, where a faulty device can explain anything: recomputed only.

Devices fail independently with chance .01, so a set of k faults weighs (.01/.99)^k. The engine's
prior weighs a set of k equal modes lambda^k / 5^k: the same ratios, once the document's shares of calls
without fault and with two or more faults are those of the binomial. Sets of all five, beyond the
format's four, weigh 1e-8 of one fault.
"""

from __future__ import annotations

from functools import cache
from itertools import combinations
from math import comb

import pytest

from graph.compile import CompiledModel, compile_model
from schemas.load import load_data
from tests.published.asking import UNLISTED_IN_100, ask, component, document, mode, observation, worth

DEVICES = ("m1", "m2", "m3", "a1", "a2")
A, B, C, D, E = 3, 2, 2, 3, 3
F, G = 10, 12
VALUES = range(13)
ODDS = 0.01 / 0.99


def explains(faulty: frozenset[str], **fixed: int) -> bool:
    """Whether some inner values agree with what is seen, a faulty device giving out anything."""
    return any(
        all(inner[name] == value for name, value in fixed.items())
        for x in VALUES for y in VALUES for z in VALUES for inner in [{"x": x, "y": y, "z": z}]
        if ("m1" in faulty or x == A * C) and ("m2" in faulty or y == B * D) and ("m3" in faulty or z == C * E)
        and ("a1" in faulty or x + y == F) and ("a2" in faulty or y + z == G)
    )


@cache
def every_set() -> tuple[frozenset[str], ...]:
    return tuple(frozenset(some) for size in range(6) for some in combinations(DEVICES, size))


@cache
def minimal_diagnoses() -> tuple[frozenset[str], ...]:
    good = [some for some in every_set() if explains(some)]
    return tuple(some for some in good if not any(other < some for other in good))


def rules_for(name: str) -> list[dict[str, object]]:
    """What a probe of an inner value sees under each set of faults that explains the outputs."""
    rules: list[dict[str, object]] = []
    for size in range(5):
        for some in combinations(DEVICES, size):
            faulty = frozenset(some)
            possible = [v for v in VALUES if explains(faulty, **{name: v})]
            state = f"is_{possible[0]}" if len(possible) == 1 else "anything"
            when: dict[str, object] = {d: "broken" if d in faulty else "sound" for d in DEVICES}
            if possible:
                rules.append({"when": when, "state": state})
    return [*rules, {"state": "anything"}]


@cache
def circuit() -> CompiledModel:
    shares = [comb(5, k) * ODDS**k for k in range(5)]
    listed = 100 - UNLISTED_IN_100
    head = {
        "most_faults": 4, "nothing_wrong_in_100": listed * shares[0] / sum(shares),
        "two_faults_in_100": listed * sum(shares[2:]) / sum(shares),
    }
    parts = {d: component({"broken": mode(10, f"replace_{d}")}) for d in DEVICES}
    outputs = [{"when": {"all_faults": [f"{d}.broken" for d in sorted(some)]}, "state": "explained"}
               for some in minimal_diagnoses()]
    signals: dict[str, object] = {"outputs": {
        "title": "F and G as seen", "states": ["explained", "impossible"],
        "rules": [*outputs, {"state": "impossible"}],
    }}
    tests = {"read_outputs": observation("outputs", {"ten_and_twelve": ["explained"], "others": ["impossible"]})}
    for name in "xyz":
        rules = rules_for(name)
        seen = sorted({str(rule["state"]) for rule in rules} - {"anything"})
        signals[f"value_{name}"] = {"title": name, "states": [*seen, "anything", "never"], "rules": rules}
        even = {o: 100 / (len(seen) + 1) for o in [*seen, "another"]}
        tests[f"probe_{name}"] = observation(
            f"value_{name}", {**{s: [s] for s in seen}, "another": ["anything", "never"]}, chances={"anything": even})
    return compile_model(load_data(document(parts, tests, signals=signals, equipment=head)))


def test_minimal_diagnoses() -> None:
    """Of the reference itself: the circuit is the one of the paper."""
    assert set(minimal_diagnoses()) == {
        frozenset({"m1"}), frozenset({"a1"}), frozenset({"m2", "m3"}), frozenset({"m2", "a2"})}


def test_prior_of_a_device_is_one_in_a_hundred() -> None:
    chances = ask(circuit()).marginals_of("modes")
    for device in DEVICES:
        assert chances[f"{device}.broken"] == pytest.approx(0.01, abs=1e-8)


def test_prior_odds_of_two_faults_to_one() -> None:
    belief = ask(circuit())
    hypotheses = belief.model.hypotheses
    size = (hypotheses.members >= 0).sum(axis=1)
    for k in range(1, 4):
        more, fewer = belief.rows[size == k + 1], belief.rows[size == k]
        assert more / fewer[0] == pytest.approx(ODDS, rel=1e-9)


def test_posterior_of_first_multiplier_and_first_adder() -> None:
    chances = ask(circuit(), [("read_outputs", "ten_and_twelve")]).marginals_of("modes")
    assert chances["m1.broken"] == pytest.approx(0.4976, abs=5e-5)
    assert chances["a1.broken"] == pytest.approx(0.4976, abs=5e-5)


def test_posterior_equals_brute_force() -> None:
    weight = {some: ODDS ** len(some) for some in every_set() if explains(some)}
    chances = ask(circuit(), [("read_outputs", "ten_and_twelve")]).marginals_of("modes")
    for device in DEVICES:
        expected = sum(w for some, w in weight.items() if device in some) / sum(weight.values())
        assert chances[f"{device}.broken"] == pytest.approx(expected, abs=1e-6)


def test_best_probe_is_x() -> None:
    table = worth(ask(circuit(), [("read_outputs", "ten_and_twelve")]))
    probes = {name: table[name].hypotheses for name in ("probe_x", "probe_y", "probe_z")}
    assert max(probes, key=lambda name: probes[name]) == "probe_x"
    assert probes["probe_x"] > 10 * max(probes["probe_y"], probes["probe_z"])


def test_probe_x_decides_between_the_two_likely_devices() -> None:
    told = [("read_outputs", "ten_and_twelve"), ("probe_x", "is_4")]
    assert ask(circuit(), told).marginals_of("modes")["m1.broken"] > 0.97
    told = [("read_outputs", "ten_and_twelve"), ("probe_x", "is_6")]
    assert ask(circuit(), told).marginals_of("modes")["a1.broken"] > 0.97
