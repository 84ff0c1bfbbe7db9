from __future__ import annotations

import pytest

from graph.words.measures import measures_of


@pytest.mark.parametrize(("text", "celsius"), [
    ("it's at minus five", -5), ("display says -12", -12), ("-18°C", -18), ("it's 3 degrees in there", 3),
    ("twenty-five degrees below zero", -25), ("about 41 F", 5), ("7 degrees celsius", 7), ("shows minus 22", -22),
])
def test_temperatures_are_picked_up(text: str, celsius: float) -> None:
    (measure,) = measures_of(text)
    assert (measure.kind, measure.value, measure.unit) == ("temperature", celsius, "Cel")
    assert text[measure.start:measure.end].strip() == measure.text


@pytest.mark.parametrize(("text", "minutes"), [
    ("since yesterday", 1440), ("for half an hour", 30), ("it took two and a half hours", 150), ("for three "
        "days", 4320),
    ("a couple of weeks", 20160), ("ten minutes ago", 10), ("since this morning", 360),
])
def test_times_are_picked_up(text: str, minutes: float) -> None:
    (measure,) = measures_of(text)
    assert (measure.kind, measure.value, measure.unit) == ("time", minutes, "min")


@pytest.mark.parametrize("text", ["C45", "two cubes", "it is at 5", "serial 12-5", "the f lamp", ""])
def test_other_numbers_are_left_alone(text: str) -> None:
    assert measures_of(text) == ()


def test_what_was_taken_without_being_said_is_told() -> None:
    assert measures_of("minus five degrees")[0].assumed == "degrees Celsius"
    assert measures_of("-5 °C")[0].assumed == ""
