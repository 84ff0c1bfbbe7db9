"""What was asked before is answered about as fast as nothing at all: a ratio within one run, no seconds."""

from __future__ import annotations

from tests.bench.traffic import measured


def test_an_advice_asked_before_costs_little_more_than_an_empty_route() -> None:
    found = measured(seconds=1, symptoms=3)
    assert found["advice / empty"] > 0.35
    assert found["findings / empty"] > 0.02, "far less than a stored finding ever took"
