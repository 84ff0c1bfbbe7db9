from __future__ import annotations

import pytest

from graph.advice import advise
from graph.answers import Advice
from graph.belief import believe
from graph.compile import CompiledModel
from graph.context import Asker
from graph.evidence import finding
from graph.suspects import ambiguity_groups


def advice(model: CompiledModel, *story: tuple[str, str], asker: Asker | None = None) -> Advice:
    return advise(model, [finding(model, *pair) for pair in story], asker=asker)


def test_the_answer_holds_together(urn: CompiledModel) -> None:
    answer = advice(urn, ("stays_cold", "present"))
    assert answer.suspects == tuple(sorted(answer.suspects, key=lambda s: -s.chance))
    assert answer.next_step.id == answer.next_tests[0].test or answer.next_step.kind == "repair"
    chances = believe(urn, [finding(urn, "stays_cold", "present")]).marginals_of("modes")
    assert all(s.chance == chances[s.failure_mode] for s in answer.suspects)
    assert answer.summary.startswith("Most likely: ")
    assert answer.next_step.sentence in answer.summary
    hazards = {h for t in answer.next_tests for h in t.hazards} | {h for r in answer.next_remedies for h in r.hazards}
    assert {c.hazard for c in answer.cautions} == hazards


def test_before_anything_is_said_the_usual_rates_speak(urn: CompiledModel) -> None:
    answer = advice(urn)
    assert [s.chance for s in answer.suspects] == pytest.approx([s.usual_chance for s in answer.suspects])
    assert all(s.evidence == () for s in answer.suspects)
    assert answer.conflict is None


def test_after_a_repair_that_runs_the_job_is_to_be_closed(urn: CompiledModel) -> None:
    answer = advice(urn, ("stays_cold", "present"), ("watch_thermostat", "opens"), ("replace_thermostat", "runs"))
    assert answer.next_step.kind == "close"
    assert answer.nothing_wrong > 0.9
    assert answer.kit.lines == ()


def test_after_a_repair_that_did_not_help_the_next_is_proposed(urn: CompiledModel) -> None:
    answer = advice(urn, ("stays_cold", "present"), ("replace_thermostat", "still_faulty"))
    assert "thermostat" not in {s.component for s in answer.suspects[:3]}
    assert "replace_thermostat" not in {r.remedy for r in answer.next_remedies}
    assert answer.next_step.kind in ("ask", "test", "repair")


def test_clashing_findings_are_named_and_looked_at_again(ice_maker: CompiledModel) -> None:
    answer = advice(ice_maker, ("look_lamp", "dark"), ("read_alarm", "three"), ("time_build", "normal"))
    assert answer.conflict is not None
    assert answer.conflict.withdraw
    assert answer.next_step.id in {name for group in answer.conflict.withdraw for name in group}
    assert answer.suspects == () or answer.suspects[0].chance < 0.7, "never a confident answer from clashing findings"


def test_modes_that_no_test_at_hand_tells_apart_are_said_to_be_so(urn: CompiledModel) -> None:
    modes = [urn.hypotheses.modes.index(m) for m in ("element.burnt_out", "thermostat.stuck_open", "socket.dead")]
    everything = ambiguity_groups(urn, Asker(), 0)
    assert all(everything[m] == (m,) for m in modes)
    on_the_phone = ambiguity_groups(urn, Asker(role="site_contact"), 0)
    for mode in modes:
        assert set(modes) <= set(on_the_phone[mode]), "all leave the water cold, and that is all a caller sees"


def test_a_caller_is_told_what_else_it_could_be(urn: CompiledModel) -> None:
    suspect = advice(urn, ("stays_cold", "present"), asker=Asker(role="site_contact")).suspects[0]
    assert suspect.cannot_be_told_from
    assert "No test at hand tells it from" in suspect.sentence


def test_what_the_graph_carries_but_the_answer_does_not_use_is_noted(ice_maker: CompiledModel) -> None:
    notes = " ".join(advice(ice_maker, ("little_ice", "present")).notes)
    assert "fictional" in notes
    assert "instruments" in notes


@pytest.mark.parametrize("most", [1, 3, 12])
def test_most_limits_what_is_explained(ice_maker: CompiledModel, most: int) -> None:
    answer = advise(ice_maker, [finding(ice_maker, "little_ice", "present")], most=most)
    assert len(answer.next_tests) == most
    assert len(answer.next_remedies) <= most
    assert len(answer.blocked_tests) <= most
