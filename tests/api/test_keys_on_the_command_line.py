from __future__ import annotations

from pathlib import Path

import pytest

from api.app import create_app
from api.cli import main
from api.run import greeting, serve
from tests.api.conftest import settings

Capture = pytest.CaptureFixture[str]


def test_a_key_goes_through_its_life(tmp_path: Path, capsys: Capture) -> None:
    place = ["--database", str(tmp_path / "keys.db")]
    assert main(["key", "list", *place]) == 0
    assert "halfsplit key create" in capsys.readouterr().err
    assert main(["key", "create", "--tenant", "acme", "--scope", "advice:read", "--title", "the desk", *place]) == 0
    made = capsys.readouterr()
    text = made.out.strip()
    name = text.split("_")[1]
    assert name in made.err
    assert "only time" in made.err
    assert main(["key", "rotate", name, *place]) == 0
    successor = capsys.readouterr().out.strip().split("_")[1]
    assert main(["key", "revoke", name, *place]) == 0
    assert main(["key", "revoke", name, *place]) == 1
    capsys.readouterr()
    assert main(["key", "list", "--tenant", "acme", *place]) == 0
    listed = capsys.readouterr().out
    assert f"{name}  acme  advice:read" in listed
    assert "revoked 20" in listed
    assert successor in listed
    assert text.rsplit("_", 1)[1] not in listed
    assert main(["key", "list", "--tenant", "other", *place]) == 0
    assert capsys.readouterr().out == ""


def test_a_misspelt_scope_is_told_with_the_nearest(tmp_path: Path, capsys: Capture) -> None:
    assert main(["key", "create", "--scope", "advce:read", "--database", str(tmp_path / "keys.db")]) == 2
    said = capsys.readouterr()
    assert "Did you mean 'advice:read'?" in said.err
    assert said.out == ""


@pytest.mark.parametrize(("host", "is_open", "expected", "made"), [
    ("127.0.0.1", False, "hs_", 1), ("127.0.0.1", True, "It is open", 0), ("0.0.0.0", False, "WARNING", 0),
])
def test_the_start_says_who_can_get_in(host: str, is_open: bool, expected: str, made: int) -> None:
    chosen = settings(host=host, open=is_open)
    service = create_app(chosen).state.service
    said = list(greeting(chosen, service))
    assert any(line.startswith(expected) for line in said)
    assert sum(line.startswith("hs_") for line in said) == made
    assert not any(line.startswith("hs_") for line in greeting(chosen, service)), "a key is told once"
    service.database.close()


def test_an_open_service_is_refused_to_others(capsys: Capture) -> None:
    assert serve(settings(host="0.0.0.0")) == 2
    assert "--open lets anybody in" in capsys.readouterr().err
