from __future__ import annotations

from collections.abc import Sequence

import pytest

from api.chat import Chat, listened
from api.cli import main
from graph.compile import CompiledModel
from graph.evidence import Finding
from tests.graph.conftest import ROOT, compiled


@pytest.fixture(scope="module")
def ice_maker() -> CompiledModel:
    return compiled(ROOT / "fixtures" / "equipment" / "quillmere-c45.yaml")


def talk(model: CompiledModel, lines: Sequence[str]) -> tuple[str, Chat]:
    said: list[str] = []
    chat = Chat(model, said.append, listened(iter(lines), said.append))
    chat.run()
    return "\n".join(said), chat


def test_a_lump_on_the_bulb_is_put_right_without_a_visit(ice_maker: CompiledModel) -> None:
    text, chat = talk(ice_maker, [
        "the blue lamp is on", "yes", "a lump of ice hangs on the bulb", "yes",
    ])
    assert "see whether a lump of ice hangs on the bulb, and take it off" in " ".join(text.split())
    assert "Nobody needs to come" in text
    assert [f.about for f in chat.findings] == ["blue_lamp", "look_bin", "clear_bin_bulb"]


def test_nothing_is_recorded_that_was_not_confirmed(ice_maker: CompiledModel) -> None:
    _, chat = talk(ice_maker, ["the ice is cloudy", "no", "bye"])
    assert chat.findings == []


@pytest.mark.parametrize("line", ["there is smoke coming out of it", "I got a shock from it"])
def test_a_danger_ends_the_questions(ice_maker: CompiledModel, line: str) -> None:
    text, chat = talk(ice_maker, [line, "this is never read"])
    assert "Safety first" in text
    assert "never read" not in text
    assert "?" not in text.split("Safety first")[1]
    assert chat.findings == []


def test_a_danger_in_a_later_answer_ends_them_too(ice_maker: CompiledModel) -> None:
    text, _ = talk(ice_maker, ["it makes no ice", "yes", "it's sparking now", "never read"])
    assert "Safety first" in text
    assert "never read" not in text


def test_a_danger_where_yes_or_no_was_asked_ends_them_too(ice_maker: CompiledModel) -> None:
    text, chat = talk(ice_maker, ["it makes no ice", "there's a burning smell now", "never read"])
    assert "Safety first" in text
    assert "never read" not in text
    assert chat.findings == []


def test_a_choice_is_named_by_its_letter_and_a_number_is_an_answer(ice_maker: CompiledModel) -> None:
    said = ["no ice and an orange lamp is flashing", "yes", "yes"]
    _, chat = talk(ice_maker, [*said, "3", "bye"])
    assert chat.findings[-1] == Finding("read_alarm", (("three", 1),))
    _, chat = talk(ice_maker, [*said, "b", "bye"])
    assert chat.findings[-1] == Finding("read_alarm", (("two", 1),))


def test_what_nobody_could_tell_of_a_remedy_is_no_finding(ice_maker: CompiledModel) -> None:
    _, chat = talk(ice_maker, ["the blue lamp is on", "yes", "a lump of ice hangs on the bulb", "I can't tell", "bye"])
    assert Finding("clear_bin_bulb", ()) in chat.findings


def test_a_caller_is_told_no_parts_and_prices(ice_maker: CompiledModel) -> None:
    text, _ = talk(ice_maker, ["it makes no ice", "yes", *["I can't tell"] * 9])
    caller, _, office = text.partition("For whoever sends somebody:")
    assert "A technician has to come" in caller
    assert "EUR" in office and "EUR" not in caller


def test_the_same_thing_said_twice_is_confirmed_once(ice_maker: CompiledModel) -> None:
    text, _ = talk(ice_maker, ["It hums, clicks, hums, clicks. No ice.", "yes", "yes", "bye"])
    assert text.count("Hums for some seconds, clicks, and tries again") == 1


def test_why_explains_the_question(ice_maker: CompiledModel) -> None:
    text, _ = talk(ice_maker, ["it makes no ice", "yes", "why\n", "I can't tell", "bye\n"])
    assert "As things stand" in text
    assert "No matter." in text


def test_hanging_up_is_no_error(ice_maker: CompiledModel) -> None:
    text, _ = talk(ice_maker, [])
    assert text.endswith("Goodbye.")


def test_an_unknown_machine_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["chat", "quillmere-c54"]) == 2
    assert "quillmere-c45" in capsys.readouterr().err
