"""The command that plays ways of working against each other."""

from __future__ import annotations

from pathlib import Path

import orjson
import pytest

from api.cli import main
from api.simulate import Match, simulate, table
from graph.compile import compile_model
from graph.context import Asker, Economics
from graph.policy.calls import draw_calls, play
from graph.policy.contenders import contenders, ours
from graph.policy.outlook import outlook
from graph.policy.standings import standings
from schemas.load import load_text

URN = Path(__file__).parents[1] / "graph" / "machines" / "urn.yaml"


def test_the_command_prints_a_row_for_each_policy(capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["simulate", "--equipment", str(URN), "--calls", "30", "--policy", "halfsplit", "--policy", "as written"]
    assert main([*asked, "--processes", "2", "--json"]) == 0
    rows = orjson.loads(capsys.readouterr().out)
    assert [row["policy"] for row in rows] == ["halfsplit", "as written"]
    assert rows[0]["calls"] == 30
    assert rows[0]["more"]["mean"] == 0
    assert rows[0]["money"]["mean"] > 0


@pytest.mark.parametrize(("more", "said"), [
    (["--policy", "as writen"], "as written"),
    (["--licence", "electrcal"], "electrical"),
    (["--calls", "0"], "expected 2 or more"),
])
def test_what_is_not_known_is_named(more: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["simulate", "--equipment", str(URN), *more]) == 2
    assert said in capsys.readouterr().err


def test_one_process_or_two_give_the_same_figures() -> None:
    match = Match(URN, 40, 3, 10.0, Asker(), Economics())
    one, two = (simulate(match, ["halfsplit", "gain per cost"], processes) for processes in (1, 2))
    assert one == two
    assert table(one, "EUR").count("\n") == 3


def test_taking_out_what_is_known_leaves_the_mean_and_narrows_the_interval() -> None:
    model = compile_model(load_text(URN.read_bytes(), URN.name))
    asker, economics = Asker(), Economics()
    calls = draw_calls(model, 1500, seed=2)
    visits = [play(model, call, ours(0), asker, economics) for call in calls]
    standing = standings(model, asker, economics, calls, {"one step": visits})[0]
    plain = sum(v.money for v in visits) / len(visits)
    assert standing.money.mean == pytest.approx(plain, abs=3 * standing.money.within + 3)
    least = outlook(model, asker, economics).least
    assert all(v.money > least[c.row] - 1e-9 for v, c in zip(visits, calls, strict=True))


def test_the_same_seed_draws_the_same_calls_and_every_policy_ends() -> None:
    model = compile_model(load_text(URN.read_bytes(), URN.name))
    first, again = draw_calls(model, 20, seed=5), draw_calls(model, 20, seed=5)
    assert [(c.row, c.said) for c in first] == [(c.row, c.said) for c in again]
    for policy in contenders(1, 5).values():
        for call in first[:5]:
            assert play(model, call, policy, Asker(), Economics()).minutes >= 0
