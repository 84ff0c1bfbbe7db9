"""The command that replays known calls."""

from __future__ import annotations

from pathlib import Path

import orjson
import pytest

from api.cli import main
from tests.schemas.test_calls import GOOD, URN


@pytest.fixture
def calls(tmp_path: Path) -> Path:
    path = tmp_path / "urn-calls.yaml"
    path.write_text(GOOD, encoding="utf-8")
    return path


def test_the_report_says_shares_money_and_what_fails(calls: Path, capsys: pytest.CaptureFixture[str]) -> None:
    wrong = GOOD.replace("[element.burnt_out]", "[reservoir.empty]")
    calls.write_text(wrong, encoding="utf-8")
    assert main(["calls", str(calls), "--equipment", str(URN.parent)]) == 0
    said = capsys.readouterr().out
    assert said.startswith("tea-urn: 2 known calls\n")
    assert "truth first in the end" in said
    assert "- Cold (reservoir.empty)" in said
    assert "stays_cold present: " in said


def test_files_of_one_machine_are_counted_together(calls: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["calls", str(calls), str(calls), "--equipment", str(URN.parent), "--json"]) == 0
    report, = orjson.loads(capsys.readouterr().out)
    assert report["equipment"] == "tea-urn"
    assert report["tally"]["calls"] == 4
    assert report["calls"][0]["places"][-1]["rank"] == 1


def test_defects_are_told_and_the_other_file_is_replayed(
    calls: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    broken = tmp_path / "broken.yaml"
    broken.write_text(GOOD.replace("about: look_inside", "about: look_insid"), encoding="utf-8")
    odd = tmp_path / "odd.yaml"
    odd.write_text("equipment: tea-urn\ncalls: 3\n", encoding="utf-8")
    assert main(["calls", str(odd), str(calls), "--equipment", str(URN.parent)]) == 1
    told = capsys.readouterr()
    assert "odd.yaml:2: /calls: wrong-type" in told.err
    assert "2 known calls" in told.out
    assert main(["calls", str(broken), "--equipment", str(URN.parent)]) == 1
    assert "did you mean 'look_inside'?" in capsys.readouterr().err


def test_calls_of_a_machine_that_nobody_knows(calls: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["calls", str(calls)]) == 2
    assert "'tea-urn' is not a known equipment" in capsys.readouterr().err


def test_another_machine_that_is_broken_does_not_matter(
    calls: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    machines = tmp_path / "machines"
    machines.mkdir()
    (machines / "another.yaml").write_text("equipment: {id: another}\n", encoding="utf-8")
    (machines / "that-urn.yaml").write_bytes(URN.read_bytes())
    assert main(["calls", str(calls), "--equipment", str(machines)]) == 0
    assert "2 known calls" in capsys.readouterr().out
