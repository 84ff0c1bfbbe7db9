from __future__ import annotations

import io
import sys
from pathlib import Path

import orjson
import pytest

from api.cli import main

ICE_MAKER = Path(__file__).parents[2] / "fixtures" / "equipment" / "quillmere-c45.yaml"
Capture = pytest.CaptureFixture[str]


def advise(monkeypatch: pytest.MonkeyPatch, body: object, *options: str) -> int:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(orjson.dumps(body))))
    return main(["advise", "--graph", str(ICE_MAKER), *options])


def test_check_says_what_a_usable_document_holds(capsys: Capture) -> None:
    assert main(["check", str(ICE_MAKER)]) == 0
    said = capsys.readouterr().out
    assert "usable" in said
    assert "68 failure modes" in said


def test_check_names_line_path_expectation_and_nearest_name(tmp_path: Path, capsys: Capture) -> None:
    text = ICE_MAKER.read_text(encoding="utf-8").replace("remedies: [open_tap]", "remedies: [opn_tap]", 1)
    broken = tmp_path / "broken.yaml"
    broken.write_text(text, encoding="utf-8")
    line = next(i for i, row in enumerate(text.splitlines(), 1) if "opn_tap" in row)
    assert main(["check", str(broken), str(ICE_MAKER)]) == 1
    said = capsys.readouterr().out
    assert f"{broken}:{line}: /components/water_main/failure_modes/tap_shut/remedies/0: unknown-name" in said
    assert "did you mean 'open_tap'?" in said
    assert "usable" in said, "the other file is checked all the same"


URN = Path(__file__).parent / "equipment" / "toy-urn.yaml"


def test_warnings_make_the_check_fail_unless_they_may(capsys: Capture) -> None:
    assert main(["check", str(URN)]) == 3
    said = capsys.readouterr().out
    line = next(i for i, row in enumerate(URN.read_text().splitlines(), 1) if row.lstrip().startswith("switch_on:"))
    assert f"{URN}:{line}: warning: /remedies/switch_on: remedy-unverified: found" in said
    assert main(["check", str(URN), "--warnings-ok"]) == 0


def test_defects_count_for_more_than_warnings(tmp_path: Path, capsys: Capture) -> None:
    broken = tmp_path / "broken.yaml"
    broken.write_text(URN.read_text().replace("reveals: ", "reveals: x_", 1))
    assert main(["check", "--json", str(broken), str(URN)]) == 1
    first, second = orjson.loads(capsys.readouterr().out)
    assert (first["usable"], second["usable"]) == (False, True)
    assert first["defects"] and second["warnings"]


def test_check_lists_its_rules_and_wants_a_file_otherwise(capsys: Capture) -> None:
    assert main(["check", "--rules"]) == 0
    assert "remedy-unverified" in capsys.readouterr().out
    assert main(["check"]) == 2
    assert "--rules" in capsys.readouterr().err


@pytest.mark.parametrize("command", [
    ["advise", "--graph"], ["chart", "--graph"], ["kit", "--graph"], ["simulate", "--equipment"],
])
def test_every_command_names_the_defects_of_a_document(command: list[str], tmp_path: Path, capsys: Capture) -> None:
    broken = tmp_path / "broken.yaml"
    broken.write_text(URN.read_text().replace("reveals: ", "reveals: x_", 1))
    assert main(["check", str(broken)]) == 1
    checked = capsys.readouterr().out.strip()
    assert main([*command, str(broken)]) == 1
    captured = capsys.readouterr()
    assert checked in captured.err
    assert captured.out == ""


def test_diff_says_what_changed_and_what_that_does(tmp_path: Path, capsys: Capture) -> None:
    newer = tmp_path / "newer.yaml"
    text = URN.read_text(encoding="utf-8")
    assert "calls_per_thousand: 60" in text
    newer.write_text(text.replace("calls_per_thousand: 60", "calls_per_thousand: 2", 1), encoding="utf-8")
    assert main(["diff", str(URN), str(newer), "--calls", "20"]) == 0
    said = capsys.readouterr().out
    assert said.startswith("1 change\n- failure mode “")
    assert "60 → 2 calls in a thousand" in said
    assert "on 20 simulated calls" in said
    assert max(map(len, said.splitlines())) <= 100
    assert main(["diff", str(URN), str(newer), "--calls", "20", "--json"]) == 0
    found = orjson.loads(capsys.readouterr().out)
    assert found["changes"][0]["what"] == "calls_per_thousand"
    assert found["calls"]["calls"] == 20
    assert main(["diff", str(URN), str(newer), "--calls", "0"]) == 0
    assert "simulated" not in capsys.readouterr().out


def test_diff_of_a_document_with_itself(capsys: Capture) -> None:
    assert main(["diff", str(URN), str(URN)]) == 0
    assert capsys.readouterr().out == "No differences.\n"


@pytest.mark.parametrize(("option", "value"), [("--calls", "1"), ("--calls", "-2"), ("--seed", "-1")])
def test_diff_refuses_figures_that_make_no_sense(option: str, value: str, capsys: Capture) -> None:
    assert main(["diff", str(URN), str(URN), option, value]) == 2
    assert f"{option} is {value}; expected" in capsys.readouterr().err


def test_diff_names_the_defects_of_a_document(tmp_path: Path, capsys: Capture) -> None:
    broken = tmp_path / "broken.yaml"
    broken.write_text(URN.read_text().replace("reveals: ", "reveals: x_", 1))
    assert main(["diff", str(URN), str(broken)]) == 1
    assert f"{broken}:" in capsys.readouterr().err


def test_check_of_a_file_that_is_not_there_says_so(capsys: Capture) -> None:
    assert main(["check", "nowhere.yaml"]) == 2
    assert "nowhere.yaml" in capsys.readouterr().err


def test_advise_reads_standard_input_and_prints_json(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    body = {"findings": [{"about": "little_ice", "outcome": "present"}], "most": 3}
    assert advise(monkeypatch, body) == 0
    answer = orjson.loads(capsys.readouterr().out)
    assert answer["equipment"] == "quillmere-c45"
    assert len(answer["next_tests"]) == 3


def test_advise_reads_a_file_and_prints_for_people(tmp_path: Path, capsys: Capture) -> None:
    request = tmp_path / "request.json"
    request.write_bytes(orjson.dumps({"findings": [{"about": "machine_dead", "outcome": "present"}]}))
    assert main(["advise", "--graph", str(ICE_MAKER), str(request), "--text"]) == 0
    said = capsys.readouterr().out
    for section in ("Most likely", "Next", "Bring"):
        assert f"\n{section}\n" in said
    assert max(map(len, said.splitlines())) <= 96


@pytest.mark.parametrize(("body", "hint"), [
    ({"findings": [{"about": "litle_ice", "outcome": "present"}]}, "did you mean 'little_ice'?"),
    ({"findings": [{"about": "little_ice", "outcome": "presnt"}]}, "did you mean 'present'?"),
    ({"findngs": []}, "did you mean 'findings'?"),
    ({"equipment": "quillmere-c46"}, "did you mean 'quillmere-c45'?"),
    ({"economics": {"currency": "USD"}}, "expected EUR"),
    ([], "/"),
])
def test_advise_refuses_with_place_and_nearest_name(
    body: object, hint: str, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    assert advise(monkeypatch, body) == 2
    said = capsys.readouterr()
    assert hint in said.err
    assert said.out == ""
