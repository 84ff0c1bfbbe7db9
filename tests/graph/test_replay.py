"""Known calls replayed, on the urn by hand and on every shipped file."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from graph.belief import believe
from graph.compile import CompiledModel
from graph.context import Asker
from graph.errors import UnknownName
from graph.evidence import Finding
from graph.replay import KnownCall, Tally, TruthMisfit, replay, tally, truth_row
from schemas.calls import read_calls
from tests.graph.conftest import ROOT, compiled

FILES = sorted((ROOT / "fixtures" / "calls").glob("*.yaml"))
COLD = Finding("stays_cold", (("present", 1),))
LIVE = Finding("measure_element", (("about_230_v", 1),))
BURNT = Finding("look_inside", (("burnt", 1),))


def known(model: CompiledModel, *truth: str, findings: tuple[Finding, ...] = (COLD,), asker: Asker | None = None,
          at_dispatch: int = 1) -> KnownCall:
    return KnownCall("call", "", truth, truth_row(model, truth), asker or Asker(), findings, at_dispatch, "")


def test_ranks_are_those_of_the_belief_after_each_finding(urn: CompiledModel) -> None:
    call = known(urn, "element.burnt_out", findings=(COLD, LIVE, BURNT))
    places = replay(urn, call).places
    assert [p.about for p in places] == ["", "stays_cold", "measure_element", "look_inside"]
    for count, place in enumerate(places):
        belief = believe(urn, call.findings[:count])
        modes = belief.marginals_of("modes")
        likelier = sum(c > modes["element.burnt_out"] for c in [*modes.values(), belief.unlisted, belief.nothing_left])
        assert place.rank == 1 + likelier
    assert places[0].chance < places[1].chance < places[2].chance < places[3].chance
    assert places[-1].rank == 1


def test_a_repair_on_the_way_does_not_change_what_was_wrong(urn: CompiledModel) -> None:
    fixed = (COLD, BURNT, Finding("replace_element", (("runs", 1),)))
    places = replay(urn, known(urn, "element.burnt_out", findings=fixed)).places
    assert places[-1].rank == 1
    assert places[-1].chance > places[-2].chance


def test_what_no_test_tells_apart_is_one_group(urn: CompiledModel) -> None:
    # Somebody without a meter sees the same cold water of a dead socket (80 calls) and of a burnt element (90).
    place = replay(urn, known(urn, "socket.dead", asker=Asker(role="site_contact"))).places[-1]
    assert place.rank > 1
    assert place.group_rank == 1
    assert replay(urn, known(urn, "socket.dead")).places[-1].group_rank > 1, "a technician can tell them apart"


def test_two_faults_are_first_when_both_are_ahead_of_all_else(urn: CompiledModel) -> None:
    call = known(urn, "thermostat.stuck_open", "reservoir.empty", findings=(COLD,))
    place = replay(urn, call).places[-1]
    chances = believe(urn, [COLD]).marginals_of("modes")
    least = min(chances["thermostat.stuck_open"], chances["reservoir.empty"])
    assert place.rank == 1 + sum(c > least for m, c in chances.items() if m not in call.truth)


def test_the_kit_has_what_some_repair_takes(urn: CompiledModel) -> None:
    burnt = replay(urn, known(urn, "element.burnt_out"))
    assert burnt.wants_part
    assert dict(burnt.likeliest.parts) == {"element_2_kw": 1, "gasket": 1, "thermostat_unit": 1}
    assert burnt.likeliest.price == 54 + 3 + 28
    assert burnt.likeliest.enough
    assert burnt.kit.enough == {"element_2_kw", "gasket"}.issubset(dict(burnt.kit.parts))
    scaled = replay(urn, known(urn, "element.scaled"))
    assert scaled.kit.enough, "descaling takes no part, whatever was loaded"
    assert not scaled.wants_part
    lacking = replay(urn, known(urn, "unlisted"))
    assert not lacking.kit.enough
    assert not lacking.wants_part
    assert replay(urn, known(urn, "no_fault_found")).kit.enough


def test_the_tally_counts_calls_and_names_those_that_fail(urn: CompiledModel) -> None:
    right = replay(urn, known(urn, "element.burnt_out", findings=(COLD, LIVE, BURNT)))
    wrong = replay(urn, known(urn, "reservoir.empty", findings=(COLD, LIVE, BURNT)))
    found = tally([right, wrong, right, wrong])
    assert found.first == found.in_first_group == 0.5
    assert found.wanting_parts == 2
    assert found.kit_price == pytest.approx(right.kit.price)
    assert [r.truth for r in found.failing if not r.in_first_group] == [("reservoir.empty",)] * 2


def test_a_truth_that_cannot_be_is_refused(urn: CompiledModel) -> None:
    with pytest.raises(UnknownName) as unknown:
        truth_row(urn, ["element.burnt_ot"])
    assert unknown.value.nearest == "element.burnt_out"
    with pytest.raises(TruthMisfit):
        truth_row(urn, ["element.burnt_out", "element.scaled"])
    with pytest.raises(TruthMisfit):
        truth_row(urn, ["element.burnt_out", "thermostat.stuck_open", "socket.dead"])


@cache
def tallied(path: Path) -> Tally:
    file = read_calls(path.read_bytes(), path.name)
    model = compiled(ROOT / "fixtures" / "equipment" / f"{file.equipment}.yaml")
    return tally([replay(model, call) for call in file.known(model)])


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_known_calls_end_with_the_truth_in_front(path: Path) -> None:
    found = tallied(path)
    assert found.calls >= 40
    assert found.in_first_group >= 0.9


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_the_part_is_aboard_for_no_more_money_than_the_likeliest_parts(path: Path) -> None:
    found = tallied(path)
    assert found.wanting_parts >= 15, "enough of the calls want a part"
    assert found.part_aboard >= 0.8
    assert found.kit_price <= found.likeliest_price
