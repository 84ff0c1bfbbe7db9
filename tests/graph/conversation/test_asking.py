from __future__ import annotations

import numpy as np
import pytest

from graph.belief import believe
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.conversation.asking import best_question, next_turn, worthwhile
from graph.conversation.at_word import at_word
from graph.conversation.stakes import CONTACT, Stakes, askable, fates_of, safe_remedies, stakes_of
from graph.conversation.trial import asking_trial
from graph.evidence import Finding, finding
from graph.hypotheses import Floats
from graph.kit.problem import indexed_needs
from graph.kit.questions import outcome_masses
from graph.workload import workload


def found(model: CompiledModel, **outcomes: str) -> list[Finding]:
    return [finding(model, about, outcome, "") for about, outcome in outcomes.items()]


def test_safe_remedies_ask_nothing_of_a_site_contact(ice_maker: CompiledModel) -> None:
    remedies = safe_remedies(ice_maker.equipment)
    assert remedies
    assert all(r.role == "site_contact" and not r.hazards and not r.parts and r.licence is None for r in remedies)


def test_fates_tell_needs_and_safe_remedies_apart(ice_maker: CompiledModel) -> None:
    fates = fates_of(ice_maker, CONTACT)
    modes, hypotheses = ice_maker.equipment.modes, ice_maker.hypotheses
    for place, row in enumerate(hypotheses.examples.tolist()):
        faults = [hypotheses.modes[m] for m in hypotheses.members[row].tolist() if m >= 0]
        helping = {
            r for r in fates.remedies
            if faults and all(r in modes[f].remedies for f in faults) and not hypotheses.unlisted[row]
        }
        fate = fates.of_set[place]
        assert {r for r, helped in zip(fates.remedies, fates.helped[:, fate], strict=True) if helped} == helping
        assert fates.need[fate] == fates.table.of_set[place]


def costs_of(stakes: Stakes) -> tuple[list[Floats], list[int]]:
    """What each way costs in every fate, and the place of the remedy that it tries (-1: none), one way at a time."""
    fates, problem, economics = stakes.fates, stakes.problem, stakes.economics
    held = stakes.pool + problem.aboard
    covered = np.zeros((len(held), len(fates.table.needs) + 1))
    needs = indexed_needs(fates.table, problem.items)
    masses = fates.table.masses(stakes.belief.fault_sets)
    for n in np.flatnonzero(masses > 1e-9):
        covered[:, n] = [
            any(all(kit[list(serves)].sum() >= pieces for serves, pieces in way) for way in needs[n]) for kit in held
        ]
    sent = [
        economics.return_trip + problem.carrying([int(n) for n in kit]) + economics.return_trip * (1 - row[fates.need])
        for kit, row in zip(stakes.pool, covered, strict=True)
    ]
    costs, tried = list(sent), [-1] * len(sent)
    minutes = workload(stakes.belief.model.equipment, CONTACT).minutes
    meant = np.bincount(fates.of_set, at_word(stakes.belief).fault_sets, len(fates.need))
    for place, remedy in enumerate(fates.remedies):
        if meant[fates.helped[place]].sum() >= 0.002:
            caller = 0.5 + 0.5 * economics.labour(minutes[remedy])
            costs += [caller + cost * (1 - 0.9 * fates.helped[place]) for cost in sent]
            tried += [place] * len(sent)
    return costs, tried


def least_cost(stakes: Stakes, masses: Floats) -> float:
    """What the cheapest way costs with masses of the fates."""
    return min(
        float(cost @ masses) for cost, remedy in zip(*costs_of(stakes), strict=True)
        if remedy < 0 or stakes.fates.helped[remedy] @ masses >= 0.1 * masses.sum()
    )


def masses_of(stakes: Stakes, name: str) -> Floats:
    (masses,) = outcome_masses(stakes.belief, stakes.fates.of_set, len(stakes.fates.need), [name])
    return masses


@pytest.mark.parametrize("symptom", ["no_ice", "stuck_filling"])
def test_a_question_is_worth_the_fall_of_the_least_cost(ice_maker: CompiledModel, symptom: str) -> None:
    stakes = stakes_of(believe(ice_maker, found(ice_maker, **{symptom: "present"})), CONTACT, Economics())
    assert stakes.now == pytest.approx(least_cost(stakes, stakes.masses))
    names = askable(stakes.belief, frozenset({symptom}))[::6]
    minutes = workload(ice_maker.equipment, CONTACT).minutes
    assert len(names) > 5
    for name, worth in zip(names, stakes.worths(names), strict=True):
        masses = masses_of(stakes, name)
        assert masses.sum() == pytest.approx(1.0)
        assert masses.sum(axis=1) == pytest.approx(stakes.masses)
        after = sum(least_cost(stakes, outcome) for outcome in masses.T)
        price = 0.5 + 0.5 * Economics().labour(minutes[name])
        assert worth == pytest.approx(0.75 * (stakes.now - after) - price)


def test_a_question_is_worth_the_same_beside_others(ice_maker: CompiledModel) -> None:
    stakes = stakes_of(believe(ice_maker, found(ice_maker, no_ice="present")), CONTACT, Economics())
    names = askable(stakes.belief, frozenset())
    assert stakes.worths(names) == pytest.approx([stakes.worths([name])[0] for name in names])
    assert stakes.worths([]) == []


def test_the_best_of_the_worthwhile_questions_is_asked(ice_maker: CompiledModel) -> None:
    stakes = stakes_of(believe(ice_maker, found(ice_maker, no_ice="present")), CONTACT, Economics())
    questions = worthwhile(stakes, frozenset())
    assert [worth for _, worth in questions] == sorted((worth for _, worth in questions), reverse=True)
    assert all(worth >= 0.5 for _, worth in questions)
    while questions:
        closed = frozenset(askable(stakes.belief, frozenset())) - {name for name, _ in questions}
        assert best_question(stakes, closed) == pytest.approx(questions[0])
        questions = questions[len(questions) // 2 + 1:]


def test_the_cheapest_way_is_taken(ice_maker: CompiledModel) -> None:
    stakes = stakes_of(believe(ice_maker, found(ice_maker, no_ice="present")), CONTACT, Economics())
    costs, tried = costs_of(stakes)
    remedies = set()
    for name in askable(stakes.belief, frozenset()):
        for masses in masses_of(stakes, name).T:
            kit, remedy = stakes.way(masses)
            loads = [{item.key: int(n) for item, n in zip(stakes.problem.items, load, strict=True) if n}
                     for load in stakes.pool]
            place = -1 if remedy is None else stakes.fates.remedies.index(remedy)
            way = tried.index(place) + loads.index(kit)
            assert float(costs[way] @ masses) == pytest.approx(least_cost(stakes, masses))
            remedies.add(remedy)
    assert len(remedies) > 2


def test_knowing_more_never_costs_more(ice_maker: CompiledModel) -> None:
    stakes = stakes_of(believe(ice_maker, found(ice_maker, stuck_filling="present")), CONTACT, Economics())
    costs = np.array(costs_of(stakes)[0])
    for name in askable(stakes.belief, frozenset()):
        assert (costs @ masses_of(stakes, name)).min(axis=0).sum() <= (costs @ stakes.masses).min() + 1e-9


def test_the_climb_comes_near_the_exact_kit(ice_maker: CompiledModel) -> None:
    for symptom in ("no_ice", "stuck_filling", "amber_blinks", "noisy"):
        stakes = stakes_of(believe(ice_maker, found(ice_maker, **{symptom: "present"})), CONTACT, Economics())
        trips = stakes.sent @ stakes.masses
        exact = stakes.best.cost + Economics().return_trip
        assert exact - 1e-6 <= min(trips) <= 1.05 * exact


def test_a_question_changes_something_and_offers_that_one_cannot_tell(ice_maker: CompiledModel) -> None:
    turn = next_turn(ice_maker, found(ice_maker, no_ice="present"))
    question = turn.question
    assert question is not None and turn.conclusion is None
    assert question.worth >= 0.5
    assert question.answers[-1].outcome == "could_not_tell"
    assert sum(a.chance for a in question.answers) == pytest.approx(1.0)
    assert len({a.then for a in question.answers[:-1]}) > 1
    assert question.why.startswith("As things stand")
    test = ice_maker.equipment.observations[question.about]
    assert test.role == "site_contact" and not test.hazards


def test_what_was_told_or_could_not_be_told_is_not_asked_again(ice_maker: CompiledModel) -> None:
    first = next_turn(ice_maker, found(ice_maker, no_ice="present")).question
    assert first is not None
    second = next_turn(ice_maker, found(ice_maker, no_ice="present"), [first.about]).question
    assert second is None or second.about != first.about


def test_after_enough_questions_the_call_goes_on(ice_maker: CompiledModel) -> None:
    turn = next_turn(ice_maker, found(ice_maker, no_ice="present"), most=0)
    assert turn.question is None and turn.conclusion is not None
    assert turn.conclusion.kind in ("self_help", "technician")


def test_a_safe_remedy_comes_with_how_to_know_that_it_worked(ice_maker: CompiledModel) -> None:
    told = found(ice_maker, blue_lamp="present", look_bin="lump")
    conclusion = next_turn(ice_maker, told, most=0).conclusion
    assert conclusion is not None and conclusion.kind == "self_help"
    assert conclusion.self_help is not None and conclusion.self_help.remedy == "clear_bin_bulb"
    assert conclusion.self_help.how and conclusion.self_help.check
    assert conclusion.self_help.chance > 0.5
    assert conclusion.dispatch is not None
    tried = [*told, finding(ice_maker, "clear_bin_bulb", "still_faulty", "")]
    after = next_turn(ice_maker, tried, most=0).conclusion
    assert after is not None and (after.self_help is None or after.self_help.remedy != "clear_bin_bulb")


@pytest.mark.parametrize("symptom", ["no_ice", "machine_dead", "trips_breaker"])
@pytest.mark.parametrize("said", ["it smells of burning", "I got a shock off it", "there's water in the socket"])
def test_after_a_danger_nothing_is_asked(ice_maker: CompiledModel, symptom: str, said: str) -> None:
    turn = next_turn(ice_maker, found(ice_maker, **{symptom: "present"}), said=said)
    assert turn.question is None
    assert turn.conclusion is not None and turn.conclusion.kind == "make_safe"
    assert turn.conclusion.self_help is None and turn.conclusion.dispatch is None
    assert turn.conclusion.cautions


def test_a_danger_among_the_findings_is_heard(ice_maker: CompiledModel) -> None:
    turn = next_turn(ice_maker, found(ice_maker, trips_breaker="present"))
    assert [d.kind for d in turn.dangers] == ["breaker"]
    assert next_turn(ice_maker, found(ice_maker, trips_breaker="absent")).dangers == ()


def test_a_dispatcher_is_told_to_ask_the_caller(ice_maker: CompiledModel) -> None:
    question = next_turn(ice_maker, found(ice_maker, no_ice="present"), audience="dispatcher").question
    assert question is not None and question.text.startswith("Ask the caller: ")


def test_only_a_dispatcher_is_told_what_goes_along(ice_maker: CompiledModel) -> None:
    said = found(ice_maker, no_ice="present")
    for audience in ("site_contact", "dispatcher"):
        end = next_turn(ice_maker, said, most=0, audience=audience).conclusion
        question = next_turn(ice_maker, said, audience=audience).question
        assert end is not None and end.dispatch is not None and question is not None
        texts = [end.sentence, question.why, *(a.then for a in question.answers)]
        titles = [ice_maker.equipment.parts[p].title for p in end.dispatch.parts]
        told = any(title in text for title in titles for text in texts) or "EUR" in " ".join(texts)
        assert told is (audience == "dispatcher")


def test_a_remedy_is_said_in_a_callers_words(ice_maker: CompiledModel) -> None:
    remedies = ice_maker.equipment.remedies
    end = next_turn(ice_maker, found(ice_maker, blue_lamp="present", look_bin="lump"), most=0).conclusion
    assert end is not None and end.self_help is not None
    words = remedies[end.self_help.remedy].caller
    assert words is not None and (end.self_help.title, end.self_help.how) == (words.title, words.how)
    assert "yourself" in end.self_help.offer
    tried = found(ice_maker, blue_lamp="present", clear_bin_bulb="still_faulty")
    again = next_turn(ice_maker, tried, most=0).conclusion
    assert again is not None and (again.self_help is None or "one more thing" in again.self_help.offer)


def test_the_same_findings_give_the_same_turn(ice_maker: CompiledModel) -> None:
    assert next_turn(ice_maker, found(ice_maker, noisy="present")) == next_turn(ice_maker, found(ice_maker,
    noisy="present"))


def test_no_question_is_asked_that_is_worth_nothing(urn: CompiledModel) -> None:
    stakes = stakes_of(believe(urn), CONTACT, Economics(return_trip=0.0))
    assert best_question(stakes, frozenset()) is None


def test_a_trial_counts_what_was_asked_and_who_came(urn: CompiledModel) -> None:
    asker = Asker(licences=frozenset({"electrical"}))
    tried = asking_trial(urn, 60, 5, asker, Economics(return_trip=400.0), [40.0])
    plain, asked = tried.results
    assert (plain.questions, plain.unvisited) == (0.0, 0.0)
    assert 0 <= asked.questions <= 4
    assert asked.at_once >= plain.at_once
    assert asked.price <= 40.0 and plain.price <= 40.0
    assert np.isclose(tried.gains[0][1], asked.at_once - plain.at_once)
    assert tried == asking_trial(urn, 60, 5, asker, Economics(return_trip=400.0), [40.0])


def test_asking_first_puts_ice_makers_right_without_a_visit(ice_maker: CompiledModel) -> None:
    tried = asking_trial(ice_maker, 4, 5, CONTACT, Economics(), [120.0])
    plain, asked = tried.results
    assert asked.unvisited > 0 and 0 < asked.questions <= 4
    assert asked.at_once >= plain.at_once
