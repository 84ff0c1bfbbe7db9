"""The machines that the tests of the core share."""

from __future__ import annotations

from pathlib import Path

import pytest

from graph.compile import CompiledModel, compile_model
from schemas.load import load_text

ROOT = Path(__file__).parents[2]


def compiled(path: Path) -> CompiledModel:
    return compile_model(load_text(path.read_bytes(), path.name))


@pytest.fixture(scope="session")
def urn() -> CompiledModel:
    """A tea urn, small enough to work out by hand."""
    return compiled(Path(__file__).parent / "machines" / "urn.yaml")


@pytest.fixture(scope="session")
def ice_maker() -> CompiledModel:
    return compiled(ROOT / "fixtures" / "equipment" / "quillmere-c45.yaml")
