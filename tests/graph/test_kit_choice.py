from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from graph.belief import Belief, believe
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.errors import UnknownName
from graph.evidence import Finding, finding
from graph.kit.choose import choose
from graph.kit.frontier import frontier_of
from graph.kit.plan import KitWanted, exact_kit, kit_problem
from graph.kit.problem import problem_of
from graph.kit.stock import Item, KitInfeasible, Terms
from graph.kit.trial import RULES, Packer, trial
from graph.kit.van import driven, fleet_of, van_load, van_problem
from graph.policy.ranking import rank_tests
from tests.graph.kits import KINDS, best_of_all, drawn, finished

EVERY = Asker(licences=frozenset({"electrical", "refrigeration"}))


@pytest.mark.parametrize("kind", KINDS)
def test_several_loads_are_carried_at_what_each_of_them_costs(kind: str) -> None:
    for seed in range(30):
        problem = drawn(kind, seed)
        loads = np.random.default_rng(seed).integers(0, 3, (4, len(problem.items)))
        assert problem.carrying_each(loads.astype(float)) == pytest.approx(
            [problem.carrying(load) for load in loads.tolist()]
        )


def test_what_is_planned_covers_as_what_is_counted(ice_maker: CompiledModel) -> None:
    known = believe(ice_maker, [finding(ice_maker, "no_ice", "present", "")])
    problem = kit_problem(known, EVERY, Terms())
    counted = problem_of(problem.items, problem.shares, problem.terms, problem.never)
    held = np.random.default_rng(3).integers(0, 2, (20, len(problem.items))).astype(float)
    covered = problem.coverage.of(held)
    assert 0 < covered.mean() < 1
    assert (covered == counted.coverage.of(held)).all()
    assert problem.chances(held.tolist()) == counted.chances(held.tolist())


@pytest.mark.parametrize("kind", KINDS)
def test_no_kit_is_better_than_the_chosen_one(kind: str) -> None:
    for seed in range(150):
        problem = drawn(kind, seed)
        best, (money, most) = choose(problem, presolve=seed % 3 > 0), best_of_all(problem)
        assert best.gap == 0
        assert all(problem.used(room, best.loaded) <= limit for room, limit in problem.terms.limits), seed
        if problem.terms.aim == "money":
            assert best.cost == pytest.approx(money, abs=1e-6), seed
        else:
            assert best.finished == pytest.approx(most, abs=1e-8), seed
        held = [a + n for a, n in zip(problem.aboard, best.loaded, strict=True)]
        assert best.finished == pytest.approx(sum(c * finished(problem, n, held) for c, n in problem.shares), abs=1e-8)


def little_ice(model: CompiledModel) -> Belief:
    return believe(model, [finding(model, "little_ice", "present")])


def test_what_is_aboard_is_free_and_not_loaded_again(ice_maker: CompiledModel) -> None:
    belief = little_ice(ice_maker)
    usual = choose(kit_problem(belief, EVERY, Terms()))
    held = replace(EVERY, parts=frozenset({("descaler_sachet", 2), ("filter_cartridge", 1)}))
    with_stock = choose(kit_problem(belief, held, Terms()))
    assert with_stock.cost < usual.cost
    assert sum(with_stock.loaded) == sum(usual.loaded) - 3
    assert with_stock.finished == pytest.approx(usual.finished)


def test_what_is_out_of_stock_is_left_and_priced(ice_maker: CompiledModel) -> None:
    belief = little_ice(ice_maker)
    ranking = rank_tests(belief, EVERY, Economics(), ())
    terms = Terms(stock=(("descaler_sachet", 0),), lead_days=(("descaler_sachet", 3.0),))
    short, usual = (exact_kit(belief, ranking, KitWanted(t)) for t in (terms, Terms()))
    assert short.cost is not None
    assert usual.cost is not None
    assert short.limits_cost == pytest.approx(short.cost - usual.cost)
    assert short.limits_cost > 5
    left = next(part for part in short.left_out if part.part == "descaler_sachet")
    assert (left.why, left.lead_days) == ("not_to_be_had", 3.0)
    assert "3 days" in left.sentence


def test_an_unlisted_cause_and_a_missing_licence_are_never_covered(ice_maker: CompiledModel) -> None:
    belief = little_ice(ice_maker)
    everything = [99] * len(ice_maker.equipment.parts)
    for asker in (EVERY, Asker()):
        problem = kit_problem(belief, asker, Terms())
        chance, = problem.chances([everything])
        assert chance <= 1 - belief.unlisted + 1e-9
    assert chance < 1 - belief.unlisted - 0.05, "the circuit is not opened without a licence"


def test_what_must_be_brought_is_brought_or_refused(ice_maker: CompiledModel) -> None:
    belief = little_ice(ice_maker)
    must = Terms(must=(("board_part", 1),))
    problem = kit_problem(belief, EVERY, must)
    place = [item.key for item in problem.items].index("board_part")
    assert choose(problem).loaded[place] == 1
    for terms, pointer in (
        (replace(must, limits=(("budget", 100.0),)), "/limits/budget"),
        (replace(must, stock=(("board_part", 0),)), "/must_bring/board_part"),
    ):
        with pytest.raises(KitInfeasible) as refused:
            choose(kit_problem(belief, EVERY, terms))
        assert refused.value.pointer == pointer
    with pytest.raises(UnknownName) as unknown:
        kit_problem(belief, EVERY, Terms(must=(("bord_part", 1),)))
    assert unknown.value.nearest == "board_part"


def test_no_point_of_the_frontier_is_beaten(ice_maker: CompiledModel) -> None:
    problem = kit_problem(little_ice(ice_maker), EVERY, Terms())
    points = frontier_of(problem)
    assert points[0].price == 0
    for before, after in pairwise(points):
        assert before.price < after.price
        assert before.chance_to_finish < after.chance_to_finish
    for point in points[1:6]:
        limited = replace(problem.terms, aim="chance", limits=(("budget", point.price),))
        best = choose(problem_of(problem.items, problem.shares, limited))
        assert point.chance_to_finish == pytest.approx(best.finished, abs=1e-8)


def test_asking_first_is_worth_what_following_the_answers_saves(ice_maker: CompiledModel) -> None:
    belief = little_ice(ice_maker)
    ranking = rank_tests(belief, EVERY, Economics(), ())
    answer = exact_kit(belief, ranking, KitWanted(Terms(), questions=3))
    assert answer.cost is not None
    assert len(answer.questions) == 3
    for question in answer.questions:
        assert sum(change.chance for change in question.changes) == pytest.approx(1, abs=1e-6)
        after = 0.0
        for change in question.changes:
            told = believe(ice_maker, [*[finding(ice_maker, "little_ice", "present")],
                                       finding(ice_maker, question.about, change.outcome)])
            after += change.chance * choose(kit_problem(told, EVERY, Terms())).cost
        assert question.worth == pytest.approx(answer.cost - after, abs=0.02)
        assert question.worth > 0
        assert not ice_maker.equipment.observations[question.about].hazards


def test_longer_visits_are_less_likely_than_shorter_ones(ice_maker: CompiledModel) -> None:
    belief = little_ice(ice_maker)
    times = exact_kit(belief, rank_tests(belief, EVERY, Economics(), ()), KitWanted(Terms(), minutes=True)).minutes
    assert times is not None
    assert 0 < times.in_10 <= times.in_50 <= times.in_90 < 600
    assert times.in_10 < times.mean < times.in_90


def part(number: int, price: float = 10.0) -> Item:
    return Item(f"p{number}", f"p{number}", f"part {number}", price)


def test_two_jobs_that_want_one_piece_share_it() -> None:
    want = (((((0,), 1),),),)
    problem = van_problem([((1.0,), want), ((1.0,), want)], [part(0)], Terms(stock=(("p0", 1),)))
    assert choose(problem).finished == pytest.approx(1)
    two = van_problem([((1.0,), want), ((1.0,), want)], [part(0)], Terms())
    assert choose(two).loaded == (2,)
    assert choose(two).finished == pytest.approx(2)


def test_few_courses_of_a_day_are_weighed_exactly_and_many_nearly_so() -> None:
    needs = ((((((0,), 1),),)), ((((1,), 1),),), ((((0,), 1), ((1,), 1)),), ((),))
    masses = (0.4, 0.3, 0.1, 0.15)
    jobs = [(masses, needs)] * 3
    items, terms = [part(0, 20), part(1, 30)], Terms(trip=80)
    exact, sampled = van_problem(jobs, items, terms, courses=125), van_problem(jobs, items, terms, courses=100)
    assert sum(c * len(n) for c, n in exact.shares) + exact.never == pytest.approx(3)
    assert choose(exact).cost == pytest.approx(best_of_all(exact)[0] + terms.trip * exact.never)
    assert choose(sampled).loaded == choose(exact).loaded
    assert choose(sampled).finished == pytest.approx(choose(exact).finished, abs=0.05)


def test_a_day_as_it_really_goes_finishes_no_more_than_planned(ice_maker: CompiledModel) -> None:
    beliefs = [little_ice(ice_maker), believe(ice_maker, [finding(ice_maker, "hollow_cubes", "present")])] * 2
    load = van_load(beliefs, EVERY, Terms(limits=(("budget", 150.0),), aim="chance"))
    assert load.price <= 150
    assert load.without < load.expected_finished <= load.planned_finished + 2 * load.within
    for job in load.jobs:
        assert job.chance_to_finish <= job.chance_alone + 0.03
    fleet = fleet_of(beliefs, EVERY)
    assert driven(fleet, [99] * len(fleet.items), 500, 3).mean() > driven(fleet, [0] * len(fleet.items), 500, 3).mean()


def test_what_is_loaded_does_not_depend_on_what_was_loaded_before(ice_maker: CompiledModel) -> None:
    said = [(Finding(name, (("present", 1),)),) for name in ("no_ice", "noisy")]
    wanted = [(findings, rule, money) for money in (None, 60.0) for rule in RULES for findings in said]
    packer = Packer(ice_maker, EVERY, Economics(), 5)
    loads = [packer.load(*want) for want in wanted]
    assert loads == [Packer(ice_maker, EVERY, Economics(), 5).load(*want) for want in wanted]
    assert len(set(loads)) > 4


def test_promised_chances_are_kept_on_simulated_calls(ice_maker: CompiledModel) -> None:
    """2,000 calls: a tenth of them is 200, so one of ten bins may be off by three standard errors, their mean not."""
    found = trial(ice_maker, 2000, 5, EVERY, Economics(), [60.0])
    assert sum(b.calls for b in found.bins) == 2000
    for part_of in found.bins:
        error = (part_of.promised * (1 - part_of.promised) / part_of.calls) ** 0.5
        assert abs(part_of.kept - part_of.promised) < 0.02 + 3 * error
    assert abs(sum(b.kept - b.promised for b in found.bins) / 10) < 0.02 + 3 * (0.15 / 2000) ** 0.5
    ours, likeliest, most_used = (r.finished for r in found.rules)
    assert ours > likeliest > most_used
