from __future__ import annotations

import pytest

from graph.words.machines import machines_of
from tests.graph.words.test_matching import machines


@pytest.mark.parametrize("text", ["C45", "c-45", "c 45", "the quilmere c54", "our ice machin", "icemaker", "my "
    "qillmere"])
def test_a_model_a_maker_or_a_nickname_names_the_machine(text: str) -> None:
    found = machines_of(machines().values(), text)
    assert "quillmere-c45" in [m.equipment for m in found]
    assert found[0].words


@pytest.mark.parametrize("text", ["hello", "the till", "X9000", "", "it is broken"])
def test_nothing_plausible_is_an_empty_list(text: str) -> None:
    assert machines_of(machines().values(), text) == ()


def test_the_model_outranks_the_maker() -> None:
    found = machines_of(machines().values(), "Quillmere C45")
    assert found[0].equipment == "quillmere-c45"
    assert found[0].score == 1.0
