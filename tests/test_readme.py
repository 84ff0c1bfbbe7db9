"""The programs in the README, as they stand there."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import chain, repeat
from pathlib import Path
from typing import Any

import pytest

from api.demo import first_key
from api.run import serving
from api.settings import Settings

README = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")


def program(function: str) -> Any:
    """A function of the README's Python blocks."""
    block = next(text for text in re.findall(r"```python\n(.*?)```", README, re.S) if f"def {function}(" in text)
    names: dict[str, Any] = {}
    exec(compile(block, "README.md", "exec"), names)
    return names[function]


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, str]]:
    """Address and key of a service with the shipped machines."""
    place = tmp_path_factory.mktemp("readme")
    settings = Settings(database=str(place / "readme.db"), port=0)
    key = first_key(settings.database)
    with serving(settings) as address:
        yield address, key


def test_the_dispatch_program_fills_the_van(service: tuple[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    load = program("fill_the_van")(*service)
    assert len(load.jobs) == 2 and load.lines
    assert load.sentence in capsys.readouterr().out


def test_the_chat_listens_asks_and_says_how_the_call_goes_on(service: tuple[str, str]) -> None:
    asked: list[str] = []
    answers = chain(["There's no ice, it just hums and clicks", "yes", "yes", "yes"], repeat("I can't tell"))
    told: list[str] = []

    def listen(prompt: str) -> str:
        asked.append(prompt)
        return next(answers)

    end = program("chat")(*service, "quillmere-c45", lambda *words: told.extend(words), listen)
    assert end.kind == "technician" and end.dispatch.parts
    assert asked[1].startswith("“") and told[-1] == end.sentence
    assert len(asked) < 12


def test_the_chat_asks_nothing_after_a_danger(service: tuple[str, str]) -> None:
    asked: list[str] = []
    told: list[str] = []

    def listen(prompt: str) -> str:
        asked.append(prompt)
        return "Sparks are coming out of it and it smells of burning" if len(asked) == 1 else "no"

    end = program("chat")(*service, "quillmere-c45", lambda *words: told.extend(words), listen)
    assert end.kind == "make_safe" and len(told) > 2
    assert not [prompt for prompt in asked[1:] if not prompt.startswith("“")]
