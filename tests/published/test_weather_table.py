"""Check value 4: information gain on fourteen days of weather.

J. R. Quinlan, "Induction of decision trees", Machine Learning 1, 1986, and T. Mitchell, Machine
Learning, 1997, chapter 3: entropy .94029, gains .24675 .15184 .04813 .02922. Seen, recomputed.

A day is a cause, all equally likely; whether one plays is the remedy it calls for. So the entropy over
remedy classes is that of the table's last column, and the gain over classes is the gain of the books.
"""

from __future__ import annotations

from functools import cache

import pytest

from graph.compile import CompiledModel, compile_model
from graph.gain import class_entropy
from schemas.load import load_data
from tests.published.asking import ask, component, document, mode, observation, worth

COLUMNS = ("outlook", "temperature", "humidity", "wind")
DAYS = """
sunny hot high weak no
sunny hot high strong no
overcast hot high weak yes
rain mild high weak yes
rain cool normal weak yes
rain cool normal strong no
overcast cool normal strong yes
sunny mild high weak no
sunny cool normal weak yes
rain mild normal weak yes
sunny mild normal strong yes
overcast mild high strong yes
overcast hot normal weak yes
rain mild high strong no
"""
GAINS = {"outlook": 0.24675, "humidity": 0.15184, "wind": 0.04813, "temperature": 0.02922}
PRINTED = 6e-6
"""Half a unit of the fifth digit, and the unlisted cause's share of 1e-8."""


@cache
def days() -> CompiledModel:
    rows = [line.split() for line in DAYS.split("\n") if line]
    modes = {f"day_{i}": mode(10, "play" if row[-1] == "yes" else "stay_in") for i, row in enumerate(rows)}
    tests = {}
    for column, name in enumerate(COLUMNS):
        values: dict[str, list[str]] = {}
        for i, row in enumerate(rows):
            values.setdefault(row[column], []).append(f"day_{i}")
        values[next(iter(values))].append("sound")
        tests[name] = observation("weather", values)
    return compile_model(load_data(document({"weather": component(modes)}, tests)))


def test_entropy_of_the_table() -> None:
    assert class_entropy(ask(days())) == pytest.approx(0.94029, abs=PRINTED)


@pytest.mark.parametrize(("column", "bits"), GAINS.items())
def test_gain_of_a_column(column: str, bits: float) -> None:
    assert worth(ask(days()))[column].classes == pytest.approx(bits, abs=PRINTED)


def test_columns_in_the_order_of_the_books() -> None:
    table = worth(ask(days()))
    assert sorted(table, key=lambda name: -table[name].classes) == list(GAINS)


def test_overcast_days_leave_nothing_to_ask() -> None:
    belief = ask(days(), [("outlook", "overcast")])
    assert class_entropy(belief) == pytest.approx(0.0, abs=PRINTED)
    assert worth(belief)["humidity"].classes == pytest.approx(0.0, abs=PRINTED)


def test_sunny_days_are_told_apart_by_humidity() -> None:
    """The subtree of Mitchell's figure: on sunny days humidity tells all .97095 bits."""
    belief = ask(days(), [("outlook", "sunny")])
    assert class_entropy(belief) == pytest.approx(0.97095, abs=PRINTED)
    assert worth(belief)["humidity"].classes == pytest.approx(0.97095, abs=PRINTED)
