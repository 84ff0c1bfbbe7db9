"""How long answers take. Run with `pytest tests/bench --benchmark-only --benchmark-json=FILE`."""

from __future__ import annotations

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from graph.compile import compile_model
from graph.gain import gains
from tests.bench.subjects import (
    SIZES,
    LibraryNetwork,
    NaiveLoop,
    generated,
    generated_equipment,
    ice_maker,
    ice_maker_equipment,
)

each_size = pytest.mark.parametrize("size", SIZES)


def test_ice_maker_answer(benchmark: BenchmarkFixture) -> None:
    belief, worth = benchmark(ice_maker().answer)
    assert belief.rows.sum() == pytest.approx(1)
    assert worth.classes.max() > 0


@pytest.mark.benchmark(min_rounds=3)
def test_ice_maker_answer_by_pyagrum(benchmark: BenchmarkFixture) -> None:
    subject = ice_maker()
    network = LibraryNetwork(subject)
    rows, worth = benchmark(network.answer)
    belief, ours = subject.answer()
    np.testing.assert_allclose(belief.rows, rows, rtol=0, atol=1e-7)
    for name, bits in worth.items():
        assert ours.hypotheses[belief.model.by_id[name]] == pytest.approx(bits, abs=1e-6)


def test_ice_maker_from_yaml(benchmark: BenchmarkFixture) -> None:
    model = benchmark(lambda: compile_model(ice_maker_equipment()))
    assert model.rows > 1_000


def test_ice_maker_engine_part(benchmark: BenchmarkFixture) -> None:
    equipment = ice_maker_equipment()
    model = benchmark(compile_model, equipment)
    assert model.rows > 1_000


@each_size
def test_answer(benchmark: BenchmarkFixture, size: str) -> None:
    belief, worth = benchmark(generated(size).answer)
    assert belief.rows.sum() == pytest.approx(1)
    assert worth.classes.max() > 0


@each_size
@pytest.mark.benchmark(min_rounds=1, max_time=2, warmup=False)
def test_answer_by_a_naive_loop(benchmark: BenchmarkFixture, size: str) -> None:
    subject = generated(size)
    naive = NaiveLoop(subject.model)
    belief = subject.believe()
    by_class, by_row = benchmark(naive.gains, belief.rows)
    worth = gains(belief)
    np.testing.assert_allclose(worth.classes, by_class, rtol=0, atol=1e-9)
    np.testing.assert_allclose(worth.hypotheses, by_row, rtol=0, atol=1e-9)


@each_size
@pytest.mark.benchmark(min_rounds=1, max_time=2, warmup=False)
def test_compile(benchmark: BenchmarkFixture, size: str) -> None:
    model = benchmark(compile_model, generated_equipment(size))
    assert model.rows > 5_000
