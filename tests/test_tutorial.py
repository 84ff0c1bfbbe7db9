"""The tutorial in DEVELOPERS.md: what it quotes is in the file, and what it says to run says what it shows."""

from __future__ import annotations

import io
import re
import shlex
import sys
from pathlib import Path

import pytest

from api.checking import checked
from api.cli import main
from schemas.load import document_of

ROOT = Path(__file__).parents[1]
BOILER = ROOT / "fixtures" / "tutorial" / "quillmere-b8.yaml"
SECTION = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("## A machine in a day")[1].split("\n## ")[0]
BLOCKS = re.findall(r"```(\w+)\n(.*?)```", SECTION, re.DOTALL)
COMMANDS = [line for kind, block in BLOCKS if kind == "sh" for line in block.splitlines()]
SHOWN = [line for kind, block in BLOCKS if kind == "text" for line in block.splitlines()]
Capture = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def at_the_root(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)


def run(command: str, monkeypatch: pytest.MonkeyPatch) -> int:
    """A command of the tutorial: a program, or what `echo` says put into it."""
    said, _, program = command.rpartition(" | ")
    text = shlex.split(said)[1].encode() if said else b""
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text)))
    name, *given = shlex.split(program)
    assert name == "halfsplit"
    return main(given)


def test_it_quotes_the_file() -> None:
    text = BOILER.read_text(encoding="utf-8")
    quoted = [block for kind, block in BLOCKS if kind == "yaml"]
    assert len(quoted) >= 4
    assert [block for block in quoted if block not in text] == []


def test_the_file_is_as_short_as_it_says() -> None:
    lines = len(BOILER.read_text(encoding="utf-8").splitlines())
    assert f"of\n{lines} lines" in SECTION
    assert lines < 120


def test_the_check_says_what_is_shown(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    assert run(COMMANDS[0], monkeypatch) == 0
    assert capsys.readouterr().out.strip() == SHOWN[0]
    counts = re.search(r"it has (\d+) failure\s+modes and (\d+) tests", SECTION)
    assert counts is not None
    document = document_of(BOILER.read_bytes())
    modes = sum(len(c.failure_modes) for c in document.components.values())
    assert (modes, len(document.tests)) == tuple(map(int, counts.groups()))


def test_nothing_is_odd_in_the_file() -> None:
    found = checked(BOILER)
    assert found.usable
    assert found.defects + found.warnings == []


def test_the_slip_is_told_as_shown(monkeypatch: pytest.MonkeyPatch, capsys: Capture, tmp_path: Path) -> None:
    copy = tmp_path / BOILER.name
    slip = BOILER.read_text(encoding="utf-8").replace("no_supply: {mains: absent}", "no_supply: {mians: absent}")
    copy.write_text(slip, encoding="utf-8")
    assert main(["check", str(copy)]) == 1
    said = capsys.readouterr().out.replace(str(copy), "fixtures/tutorial/quillmere-b8.yaml")
    wanted = re.escape(SHOWN[1]).replace("…", ".*")
    assert re.match(wanted, said.splitlines()[0]), said


@pytest.mark.parametrize(("command", "suspect"), [(COMMANDS[1], "Site supply"), (COMMANDS[2], "Safety thermostat")])
def test_the_questions_are_answered(
    command: str, suspect: str, monkeypatch: pytest.MonkeyPatch, capsys: Capture,
) -> None:
    assert run(command, monkeypatch) == 0
    said = capsys.readouterr().out
    assert suspect in said.split("Next\n----")[0]
