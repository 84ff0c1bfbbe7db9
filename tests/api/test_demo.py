from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pytest

from api import demo
from api.client import Refused
from api.client.connection import Connection
from api.run import serving
from api.settings import Settings


@pytest.fixture(scope="module")
def lines(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    database: Path = tmp_path_factory.mktemp("demo") / "demo.db"
    key = demo.first_key(str(database))
    with serving(Settings(database=str(database), port=0)) as address, closing(Connection(address, key)) as client:
        return list(demo.story(client))


def test_the_story_knows_what_everything_that_is_proposed_would_show(lines: list[str]) -> None:
    assert not any("could not tell" in line for line in lines)


def test_each_part_of_the_story_comes_up_in_the_order_proposed(lines: list[str]) -> None:
    whole = "\n".join(lines)
    places = [whole.index(words) for words in (
        "The caller says", "Question 1 of the desk", "The earlier answer is back, to the byte", "Before the van leaves",
        "Check: “Discharge and measure", "the machine runs", "is closed: found start_capacitor.failed",
    )]
    assert places == sorted(places)


def test_the_part_that_was_needed_was_brought(lines: list[str]) -> None:
    kit = next(line for line in lines if line.strip().startswith("Bring"))
    assert "Start kit: relay, capacitor, overload" in kit, "one assembly serves whichever of the three it is"


def test_the_capacitor_is_not_measured_without_its_caution(lines: list[str]) -> None:
    whole = "\n".join(lines)
    assert "Charge left in the start capacitor" in whole
    assert "Electrical licence as local codes require" in whole


def test_a_refusal_of_the_service_is_told_in_words(tmp_path: Path) -> None:
    settings = Settings(database=str(tmp_path / "demo.db"), port=0)
    key = demo.first_key(settings.database)
    with (
        serving(settings) as address,
        closing(Connection(address, key)) as client,
        pytest.raises(Refused, match="no such equipment"),
    ):
        client.request("GET", "/v1/equipment/quillmere-c46")
