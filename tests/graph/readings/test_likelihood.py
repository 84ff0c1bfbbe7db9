"""Densities against scipy, likelihoods and their bounds, cells against quadrature."""

from __future__ import annotations

from itertools import pairwise
from math import inf, log, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from graph.hypotheses import Floats
from graph.readings.cuts import MOST_BITS, cut, edges
from graph.readings.densities import Above, Band, Bell, Broad, Density
from graph.readings.likelihood import Outlook, instrument_spread, outlook
from tests.graph.readings.specimens import reading, specimens

NAMES = sorted(specimens())
each = pytest.mark.parametrize("name", NAMES)
SHAPES: list[Density] = [
    Bell(26.3, 0.55), Bell(-10, 3), Band(207, 253, 1.5), Band(-5, -0.5, 0.4), Band(0, 20, 1), Above(1000, 50),
]


def usual(name: str) -> Outlook:
    found = specimens()[name]
    return outlook(found, {c.id: c.usual for c in found.circumstances}, rough=True)


def integral(density: Density | Broad, low: float, high: float) -> float:
    points = [p for p in (density.low, density.high) if low < p < high]
    return float(integrate.quad(density.at, low, high, points=points or None, limit=400)[0])


@pytest.mark.parametrize("density", SHAPES, ids=str)
def test_a_density_is_the_slope_of_its_integral(density: Density) -> None:
    reach = 8 * density.spread
    start = density.low - reach
    stop = density.high + reach if density.high < inf else density.low * 50
    cuts = np.linspace(start, stop, 40).tolist()
    for low, high in pairwise(cuts):
        assert integral(density, low, high) == pytest.approx(density.below(high) - density.below(low), abs=1e-9)
    assert density.below(start) == pytest.approx(0, abs=1e-9)
    assert density.below(1e30) == pytest.approx(1, abs=1e-9)


def test_a_bell_is_scipys_normal() -> None:
    witness = stats.norm(26.3, 0.55)
    for x in np.linspace(22, 30, 33).tolist():
        assert Bell(26.3, 0.55).at(x) == pytest.approx(witness.pdf(x), rel=1e-12)
        assert Bell(26.3, 0.55).below(x) == pytest.approx(witness.cdf(x), abs=1e-12)


def test_broad_is_whole_and_even_in_asinh() -> None:
    broad = Broad(0, 1e5, 3)
    u = np.arcsinh(np.array(broad.values(200)) / 3)
    assert np.ptp(np.diff(u)) < 1e-9
    for low, high in pairwise(broad.values(60)):
        assert integrate.quad(broad.at, low, high)[0] == pytest.approx(broad.below(high) - broad.below(low), abs=1e-8)
    assert broad.below(-1e12) == pytest.approx(0, abs=1e-3)
    assert broad.below(1e30) == pytest.approx(1, abs=1e-9)


def test_instrument_limits_are_spread_evenly() -> None:
    # 0.9 % of 26.3 and 3 counts of 0.01, as a rectangular distribution: JCGM 100:2008, 4.3.7 (memory)
    found = reading(["sound"], {
        "quantity": "resistance", "unit": "kOhm", "accuracy_percent": 0.9, "accuracy_counts": 3, "display_step": 0.01,
        "expected": {"sound": {"value": 26.3}},
    })
    limit = 0.009 * 26.3 + 0.03
    assert instrument_spread(found, 26.3) == pytest.approx(stats.uniform(-limit, 2 * limit).std(), rel=1e-12)
    (bell,) = outlook(found).known
    assert bell.spread == pytest.approx(limit / sqrt(3))


@each
def test_what_may_be_read_in_a_state_adds_up_to_one(name: str) -> None:
    look = usual(name)
    cuts = edges(look)
    for state in range(len(look.place)):
        def density(x: float, s: int = state) -> float:
            return float(np.exp(look.log_ratios(x)[s])) * look.reference(x)
        total = sum(integrate.fixed_quad(np.vectorize(density), a, b, n=4)[0] for a, b in pairwise(cuts))
        outside = look.wrong * (1 - _reference_between(look, cuts[0], cuts[-1]))
        assert total + outside == pytest.approx(1, abs=5e-3)


def _reference_between(look: Outlook, low: float, high: float) -> float:
    parts = [d.below(high) - d.below(low) for d in look.known]
    return 0.5 * (look.broad.below(high) - look.broad.below(low)) + 0.5 * sum(parts) / len(parts)


@given(name=st.sampled_from(NAMES), x=st.floats(-1e15, 1e15))
def test_no_number_settles_a_case_and_none_is_no_number(name: str, x: float) -> None:
    look = usual(name)
    logs = look.log_ratios(x)
    most = 2 * len(look.known) * (1 - look.wrong) + look.wrong
    assert all(log(look.wrong) - 1e-12 <= value <= log(most) + 1e-12 for value in logs)
    assert look.fits_any(x) in (True, False)


def information(table: Floats, prior: Floats) -> float:
    whole = prior @ table
    with np.errstate(divide="ignore", invalid="ignore"):
        return float(np.nansum(prior[:, None] * np.where(table > 0, table * np.log2(table / whole), 0)))


@each
def test_cells_tell_what_the_number_tells(name: str) -> None:
    """Against quadrature over the number, for many priors: nothing gained, next to nothing lost."""
    look, cells = usual(name), cut(specimens()[name])
    np.testing.assert_allclose(cells.sum(axis=1), 1, rtol=0, atol=1e-12)
    nodes, weights = np.polynomial.legendre.leggauss(4)
    table = []
    for low, high in pairwise(edges(look)):
        for node, weight in zip(nodes, weights, strict=True):
            x = (low + high) / 2 + node * (high - low) / 2
            q = look.reference(x) * weight * (high - low) / 2
            table.append(np.exp(look.log_ratios(x)) * q)
    exact = np.array(table).T
    exact = np.column_stack([exact, 1 - exact.sum(axis=1)])
    exact = np.maximum(exact, 0)
    dice = np.random.default_rng(7)
    for _ in range(60):
        prior = dice.dirichlet(np.full(len(cells), dice.choice([0.2, 1.0, 5.0])))
        lost = information(exact, prior) - information(cells, prior)
        assert -MOST_BITS <= lost <= MOST_BITS + 1e-3, (name, prior)


def test_a_state_nothing_is_known_of_is_neither_excluded_nor_proved() -> None:
    found = reading(["a", "b", "c"], {
        "quantity": "current", "unit": "A", "expected": {"a": {"low": 1, "high": 2}, "b": {"low": 4, "high": 5}},
    })
    look = outlook(found)
    inside, outside = look.log_ratios(1.5), look.log_ratios(40.0)
    assert inside[0] > inside[2] > inside[1]
    assert outside[2] > outside[0] == pytest.approx(outside[1], abs=1e-6)
    assert look.fits_any(1.5)
    assert not look.fits_any(40.0)
