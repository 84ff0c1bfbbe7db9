"""Two documents answering the same calls."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from graph.compile import CompiledModel, compile_model
from graph.context import Asker, Economics
from graph.policy.calls import draw_calls, play
from graph.policy.contenders import ours
from graph.policy.standings import standings
from graph.revisions.advice import AdviceChange, advice_change
from schemas.load import load_text

TEXT = (Path(__file__).parents[1] / "machines" / "urn.yaml").read_text(encoding="utf-8")
ASKER, ECONOMICS = Asker(licences=frozenset({"electrical"})), Economics()
CALLS = 40


@cache
def urn(*changes: tuple[str, str]) -> CompiledModel:
    text = TEXT
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return compile_model(load_text(text))


def compared(before: CompiledModel, after: CompiledModel, budget: float = 0.0) -> AdviceChange:
    return advice_change(before, after, CALLS, 3, ASKER, ECONOMICS, budget)


TURNED = urn(
    ("calls_per_thousand: 90", "calls_per_thousand: 1"), ("calls_per_thousand: 60", "calls_per_thousand: 1"),
    ("calls_per_thousand: 80", "calls_per_thousand: 1"), ("calls_per_thousand: 40", "calls_per_thousand: 700"),
)
"""An urn that somebody thinks is hardly ever broken, only empty."""


@pytest.mark.parametrize("budget", [0.0, 20.0])
def test_a_document_against_itself_changes_nothing(budget: float) -> None:
    found = compared(urn(), compile_model(load_text(TEXT)), budget)
    assert (found.step, found.suspect, found.kit, found.unheard) == (0, 0, 0, 0)
    assert found.before == found.after
    assert (found.more.mean, found.more.within) == (0, 0)
    assert found.examples == ()


def test_the_newer_advice_costs_what_a_simulation_of_it_costs() -> None:
    found = compared(TURNED, urn())
    calls = draw_calls(urn(), CALLS, 3)
    visits = [play(urn(), call, ours(0), ASKER, ECONOMICS) for call in calls]
    assert standings(urn(), ASKER, ECONOMICS, calls, {"ours": visits})[0].money == found.after


def test_wrong_rates_cost_money_and_the_right_ones_save_it() -> None:
    found = compared(TURNED, urn())
    assert found.suspect > 0.3
    assert found.more.mean < 0
    assert found.more.mean == pytest.approx(found.after.mean - found.before.mean)
    assert any("leading suspect “Water: Not filled”" in e.sentence for e in found.examples)
    assert sum(e.times for e in found.examples) <= CALLS
    assert found == compared(TURNED, urn())


def test_words_that_the_older_document_lacks_are_counted() -> None:
    older = urn(
        ("  slow: {title: It takes too long, shows: {heat: weak}, reported_in_100: 60}\n", ""),
        ("  stays_cold: {", "  stone_cold: {"),
    )
    found = compared(older, urn())
    assert 0.3 < found.unheard <= 1
    assert compared(urn(), urn()).unheard == 0


def test_jobs_that_the_newer_document_lacks_are_passed_over() -> None:
    newer = urn(
        ("remedies: [descale, replace_element]", "remedies: [replace_element]"),
        ("remedies: [descale]", "remedies: [rinse]"), ("  descale: {title: Descale", "  rinse: {title: Rinse"),
        ("  measure_element:\n", "  measure_again:\n"), ("verify: measure_element", "verify: measure_again"),
    )
    for budget in (0.0, 20.0):
        found = compared(urn(), newer, budget)
        assert found.kit > 0
        assert found.before.within > 0


def test_a_dearer_part_changes_the_kit_alone() -> None:
    found = compared(urn(), urn(("title: Thermostat, price: 28", "title: Thermostat, price: 2800")))
    assert found.kit > 0
    assert found.suspect == 0
