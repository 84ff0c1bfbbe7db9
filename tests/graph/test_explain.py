from __future__ import annotations

import numpy as np
import pytest

from graph.belief import believe
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.evidence import finding
from graph.explain import decibans, evidence_weights, outcome_effects, percent, signal_paths
from graph.policy.ranking import rank_tests

STORY = (("stays_cold", "present"), ("measure_element", "no_voltage"), ("test_strip", "hard"))


@pytest.mark.parametrize(("chance", "words"), [
    (0.0, "0 %"), (0.004, "under 1 %"), (0.5, "50 %"), (0.994, "over 99 %"), (1.0, "over 99 %"),
])
def test_chances_for_people(chance: float, words: str) -> None:
    assert percent(chance) == words


def test_decibans_are_ten_times_the_log_of_the_factor_on_the_odds() -> None:
    assert decibans(10 / 11, 0.5) == pytest.approx(10), "odds of 1 become 10: one ban (Good 1950)"
    assert decibans(0.5, 0.5) == 0
    assert decibans(1.0, 0.0) == 100
    assert decibans(0.0, 1.0) == -100


def test_the_weight_of_a_finding_is_what_withdrawing_it_would_take_away(urn: CompiledModel) -> None:
    belief = believe(urn, [finding(urn, *pair) for pair in STORY])
    modes = range(len(urn.hypotheses.modes))
    chances = belief.chances_of("modes")
    weights = evidence_weights(belief, modes, chances.tolist())
    for left_out, _ in STORY:
        rest = believe(urn, [finding(urn, *pair) for pair in STORY if pair[0] != left_out]).chances_of("modes")
        for mode in modes:
            given = next(w for w in weights[mode] if w.about == left_out)
            assert given.decibans == pytest.approx(decibans(float(chances[mode]), float(rest[mode])), abs=0.006)


def test_sentences_say_for_or_against_as_the_weight_does(urn: CompiledModel) -> None:
    belief = believe(urn, [finding(urn, *pair) for pair in STORY])
    for answers in evidence_weights(belief, range(len(urn.hypotheses.modes)), belief.chances_of("modes").tolist()):
        for weight in answers:
            word = "for" if weight.decibans > 0 else "against"
            assert abs(weight.decibans) < 1.01 or f"speaks {word}" in weight.sentence


def test_a_path_ends_with_the_finding_it_explains(urn: CompiledModel) -> None:
    mode = urn.hypotheses.modes.index("socket.dead")
    for pair, signals in zip(STORY, (["supply", "element_supply", "heat"], ["supply", "element_supply"]), strict=False):
        belief = believe(urn, [finding(urn, *pair)])
        weights, = evidence_weights(belief, [mode], [float(belief.chances_of("modes")[mode])])
        path, = signal_paths(urn, "socket.dead", belief.scene, weights)
        assert path.about == pair[0]
        assert [s.signal for s in path.steps] == signals
        assert path.sentence.startswith("Socket: No supply → ")
        assert path.sentence.endswith(f"“{belief.evidence[0].said}”")


def test_effects_of_outcomes_are_the_posteriors_they_would_lead_to(urn: CompiledModel) -> None:
    found = [finding(urn, "stays_cold", "present")]
    belief = believe(urn, found)
    ranking = rank_tests(belief, Asker(), Economics())
    choices = [ranking.test(name) for name in ranking.order()]
    effects = outcome_effects(belief, choices, ranking.gains.outcomes)
    assert {c.observation.id for c in choices} >= {"measure_element", "look_inside", "test_strip"}
    for choice, outcomes in zip(choices, effects, strict=True):
        if choice.observation.id == "read_probe":
            continue  # says besides that a probe is fitted
        assert sum(o.chance for o in outcomes) == pytest.approx(1)
        for outcome in outcomes:
            after = believe(urn, [*found, finding(urn, choice.observation.id, outcome.outcome)])
            chances = after.chances_of("modes")
            best = np.sort(chances)[::-1][: len(outcome.suspects)]
            assert [s.chance for s in outcome.suspects] == pytest.approx(best.tolist(), abs=1e-9)
            for suspect in outcome.suspects:
                mode = urn.hypotheses.modes.index(suspect.failure_mode)
                assert suspect.chance == pytest.approx(float(chances[mode]), abs=1e-9)
