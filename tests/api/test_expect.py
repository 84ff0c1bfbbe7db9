"""The command that says what a good component should read."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree as Xml

import pytest

from api.cli import main

ICE_MAKER = Path(__file__).parents[2] / "fixtures" / "equipment" / "quillmere-c45.yaml"
Capture = pytest.CaptureFixture[str]
NTC = ["expect", "--quantity", "resistance", "--curve", "ntc", "--with", "ohms_at_25=10kΩ", "--with", "b=3435"]


def test_a_table_has_the_check_values(capsys: Capture) -> None:
    assert main([*NTC, "--over", "celsius=0:25:25", "--unit", "kOhm", "--tolerance-percent", "5"]) == 0
    rows = [line.split() for line in capsys.readouterr().out.splitlines()]
    # 10 kΩ, B 3435: 28 704 Ω at 0 °C (recomputed), 5 % around it
    assert rows[-2] == ["0", "27.269", "28.704", "30.140"]
    assert rows[-1] == ["25", "9.5000", "10.000", "10.500"]


def test_the_picture_is_svg_with_a_band_and_a_line(tmp_path: Path, capsys: Capture) -> None:
    for name, over in (("curve", ["--over", "celsius=-40:120:5"]), ("flat", ["--with", "celsius=20"])):
        picture = tmp_path / f"{name}.svg"
        assert main([*NTC, *over, "--svg", str(picture), "--tolerance-percent", "3"]) == 0
        svg = Xml.fromstring(picture.read_text(encoding="utf-8"))
        kinds = [node.tag.rpartition("}")[2] for node in svg.iter()]
        assert kinds.count("polygon") == kinds.count("polyline") == 1
        places = [float(v) for node in svg.iter() for key in ("x", "y", "x1", "y1") if (v := node.get(key))]
        assert all(0 <= v <= 720 for v in places)
        assert "NaN" not in picture.read_text(encoding="utf-8")
    capsys.readouterr()


def test_the_curve_is_smooth_however_coarse_the_table(tmp_path: Path, capsys: Capture) -> None:
    picture = tmp_path / "curve.svg"
    assert main([*NTC, "--over", "celsius=-40:120:40", "--svg", str(picture)]) == 0
    assert len(capsys.readouterr().out.split("expected")[1].splitlines()) - 1 == 5
    line = next(n for n in Xml.fromstring(picture.read_text(encoding="utf-8")).iter() if n.tag.endswith("polyline"))
    points = [tuple(map(float, point.split(","))) for point in str(line.get("points")).split()]
    slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(points)]
    assert max(abs(b - a) for a, b in pairwise(slopes)) < 0.02


def test_gauge_pressure_is_counted_from_the_pressure_around(capsys: Capture) -> None:
    command = ["expect", "--quantity", "temperature", "--curve", "saturation_temperature"]
    assert main([*command, "--with", "refrigerant=R-134a", "--over", "pressure=35.0:35.0:1psig", "--unit", "°F"]) == 0
    said = capsys.readouterr().out
    assert "1013.25 hPa" in said
    assert 39.9 < float(said.split()[-1]) < 40.1  # 35.0 psig at 40 °F, handbook (seen)


def test_without_a_curve_those_that_give_the_quantity_are_named(capsys: Capture) -> None:
    assert main(["expect", "--quantity", "resistance"]) == 0
    said = capsys.readouterr().out
    assert "ohms_at_25: Ω" in said
    assert "ice_rate" not in said


def test_a_test_of_a_machine_says_what_it_should_read(capsys: Capture) -> None:
    assert main(["expect", "--graph", str(ICE_MAKER), "--test", "probe_ice_bath", "--with", "bath=32°F"]) == 0
    said = capsys.readouterr().out
    assert "a good probe: 14.40 kΩ ± 0.58" in said
    assert "an open one: over 1 MΩ" in said


@pytest.mark.parametrize(("command", "hint"), [
    (["--quantity", "resistanse"], "did you mean 'resistance'?"),
    (["--quantity", "resistance", "--curve", "ntk"], "did you mean 'ntc'?"),
    (["--quantity", "resistance", "--curve", "ntc", "--with", "beta=3"], "one of: ohms_at_25, b, celsius"),
    (["--quantity", "resistance", "--curve", "ntc", "--with", "b=x"], "is not a number"),
    (["--quantity", "resistance", "--curve", "ntc", "--with", "ohms_at_25=3V"], "a unit of resistance"),
    (["--quantity", "resistance", "--curve", "ntc", "--with", "b=3435"], "every parameter"),
    (["--quantity", "voltage", "--curve", "ntc", "--with", "b=3435"], "one that gives voltage"),
    ([*NTC[1:], "--over", "celsius=0:1e9:1"], "400 at most"),
    ([*NTC[1:], "--over", "celsius=0:9**9**9:1"], "the unit at the end alone"),
    ([*NTC[1:], "--over", "celsius=500:600:50"], "-60 to 300"),
    (["--graph", str(ICE_MAKER), "--test", "probe_icebath"], "did you mean 'probe_ice_bath'?"),
    ([], "needs --quantity"),
])
def test_what_is_refused(command: list[str], hint: str, capsys: Capture) -> None:
    assert main(["expect", *command]) == 2
    assert hint in capsys.readouterr().err
