"""Check value 27: fraction of faults detected and isolated.

Terms of IEEE 1522 and MIL-STD-2165, formulas from memory; the six states are those of check value 1 (after Pattipati
and Alexandridis 1990, matrix from memory). With tests t1 and t2 alone: .9333 detected; .3929 of these isolated to one
by rate, .5 by count (recomputed).
"""

from __future__ import annotations

from graph.testability.isolation import isolation
from tests.published.test_test_sequencing import FAILS, PRIOR, six_states


def test_two_tests_detect_9333_and_isolate_3929() -> None:
    found = isolation(six_states(), {"t1", "t2"})
    assert f"{found.detected().by_rate:.4f}" == "0.9333"
    assert f"{found.isolated(1).by_rate:.4f}" == "0.3929"
    assert f"{found.isolated(1).by_count:.4f}" == "0.5000"


def test_the_same_worked_out_from_the_matrix() -> None:
    faults = {s: p for s, p in PRIOR.items() if s != "s0"}
    seen = {s: FAILS[s][:2] for s in faults if FAILS[s][:2] != FAILS["s0"][:2]}
    detected = sum(faults[s] for s in seen)
    for most in (1, 2, 3):
        inside = [s for s in seen if list(seen.values()).count(seen[s]) <= most]
        share = isolation(six_states(), {"t1", "t2"}).isolated(most)
        assert abs(share.by_rate - sum(faults[s] for s in inside) / detected) < 1e-12
        assert abs(share.by_count - len(inside) / len(seen)) < 1e-12


def test_all_five_tests_tell_every_fault() -> None:
    found = isolation(six_states(), {"t1", "t2", "t3", "t4", "t5"})
    assert found.detected().by_rate == found.isolated(1).by_count == 1


def test_without_a_test_nothing_is_detected() -> None:
    found = isolation(six_states(), ())
    assert found.detected().by_rate == found.detected().by_count == 0
    assert len(found.unseen()) == 5
