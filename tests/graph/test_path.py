from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from itertools import islice
from typing import Any

import numpy as np
import pytest

from graph.belief import believe
from graph.compile import CompiledModel, compile_model
from graph.context import Asker, Economics
from graph.evidence import Finding, finding
from graph.policy.branching import Planner, opened
from graph.policy.path import path_of
from graph.policy.path_answers import Path, PathBranch, PathNode
from graph.policy.ranking import goods_price
from graph.workload import workload
from schemas.load import load_data
from tests.graph.drawn import RANDOM, random_machine, written
from tests.published.asking import component, document, mode, observation

MINUTE_IS_MONEY = Economics(labour_per_hour=60, return_trip=50)
LICENSED = Asker(licences=frozenset({"electrical", "refrigeration"}))
ORDER_OF_ISOLATION = ("Prepare", "Shut down", "Isolate", "Lock", "Release", "Verify")
"""US OSHA 29 CFR 1910.147(d): seen."""


@dataclass(frozen=True)
class Followed:
    """A path, and what it was asked with."""

    model: CompiledModel
    given: list[Finding]
    asker: Asker
    path: Path


@cache
def followed(name: str) -> Followed:
    """The path of one machine, cut short in one way."""
    machine, said, asker, options = ASKED[name]
    model = random_machine(int(name)).model if machine == RANDOM else written(machine).model
    given = [finding(model, said, "present")] if said else []
    return Followed(model, given, asker, path_of(model, given, asker=asker, **options))


ASKED: dict[str, tuple[str, str, Asker, dict[str, Any]]] = {
    "urn": ("urn", "stays_cold", Asker(), {}),
    "short": ("urn", "stays_cold", Asker(), {"depth": 2}),
    "few": ("urn", "stays_cold", Asker(parts=frozenset()), {"most_nodes": 4}),
    "desk": ("urn", "", Asker(role="site_contact"), {"least_chance": 0.05}),
    "little_ice": ("quillmere-c45", "little_ice", LICENSED, {}),
    "no_ice": ("quillmere-c45", "no_ice", LICENSED, {}),
    **{str(seed): (RANDOM, "", Asker(), {"budget": 5, "first_budget": 5}) for seed in range(6)},
}


def leaves(path: Path) -> list[tuple[list[PathNode], PathBranch]]:
    """Every way to its leaf: the steps on it, and the last outcome."""
    found = []
    for node in path.nodes:
        way = [node]
        while way[0].comes_from is not None:
            way.insert(0, path.nodes[way[0].comes_from - 1])
        found += [(way, branch) for branch in node.branches if branch.step is None]
    return found


def repairs_only(price: dict[str, tuple[float, float]]) -> CompiledModel:
    """Causes that nothing tells apart, each with its chance and the minutes of its repair."""
    parts = {name: component({"broken": mode(1000 * p, f"mend_{name}")}) for name, (p, _) in price.items()}
    said = document(parts, {})
    for name, (_, minutes) in price.items():
        said["remedies"][f"mend_{name}"] = {"title": f"Mend {name}", "minutes": minutes}
    return compile_model(load_data(said))


@pytest.mark.parametrize("name", ASKED)
def test_the_chances_at_each_step_add_up_and_multiply_along_each_way(name: str) -> None:
    path = followed(name).path
    assert path.nodes or path.end
    for node in path.nodes:
        assert sum(b.chance for b in node.branches) == pytest.approx(1, abs=1e-9)
        for branch in node.branches:
            assert branch.reached == pytest.approx(node.chance * branch.chance)
            assert [branch.step, branch.end, branch.cut].count(None) == 2
            if branch.step is not None:
                child = path.nodes[branch.step - 1]
                assert (child.number, child.comes_from, child.depth) == (branch.step, node.number, node.depth + 1)
                assert child.chance == branch.reached
                assert child.findings[:-1] == node.findings
                assert (child.findings[-1].about, child.findings[-1].outcome) == (node.id, branch.outcomes[0])


@pytest.mark.parametrize("name", ASKED)
def test_the_totals_are_the_sum_over_all_leaves(name: str) -> None:
    path = followed(name).path
    found = leaves(path)
    totals = path.totals
    assert sum(b.reached for _, b in found) == pytest.approx(1 if path.nodes else 0)
    assert totals.minutes == pytest.approx(sum(b.reached * sum(n.minutes for n in way) for way, b in found))
    assert totals.money == pytest.approx(sum(b.reached * sum(n.money for n in way) for way, b in found))
    repairs = [(b.reached, sum(n.kind == "repair" for n in way), len(way)) for way, b in found]
    assert totals.repairs == pytest.approx(sum(p * count for p, count, _ in repairs))
    assert totals.tests == pytest.approx(sum(p * (length - count) for p, count, length in repairs))
    after = [(b.reached, b.end or b.cut) for _, b in found] + [(1.0, path.end)]
    assert totals.beyond == pytest.approx(sum(p * leaf.cost for p, leaf in after if leaf is not None))
    closed = [(b.reached, b.end.nothing_left) for _, b in found if b.end and b.end.kind == "close"]
    assert totals.closed == pytest.approx(sum(p for p, _ in closed))
    assert totals.finished == pytest.approx(sum(p * right for p, right in closed))
    assert totals.cut == pytest.approx(sum(b.reached for _, b in found if b.cut))
    assert totals.nodes == len(path.nodes)


@pytest.mark.parametrize("name", ASKED)
def test_a_chance_is_the_ratio_of_the_evidence_before_and_after(name: str) -> None:
    """The chances come from the predictions; here from the likelihood of all findings together."""
    case = followed(name)
    path = case.path

    def evidence(node: PathNode) -> float:
        found = [*case.given, *(Finding(f.about, ((f.outcome, 1),)) for f in node.findings)]
        return float(np.logaddexp.reduce(believe(case.model, found).log_rows))

    compared = 0
    for node in path.nodes:
        if any(f.outcome == "not_done" for f in node.findings):
            continue
        start = path.nodes[0]
        assert node.chance == pytest.approx(np.exp(evidence(node) - evidence(start)), rel=1e-6)
        compared += node is not start
    assert compared or len(path.nodes) <= 1


@pytest.mark.parametrize("name", ASKED)
def test_a_step_takes_the_minutes_and_money_of_the_unit_as_it_is_then(name: str) -> None:
    case = followed(name)
    model, path = case.model, case.path
    states: dict[int | None, Asker] = {None: case.asker}
    for node in path.nodes:
        load = workload(model.equipment, states[node.comes_from])
        job = model.equipment.remedies.get(node.id) or model.equipment.observations[node.id]
        assert node.minutes == load.minutes[node.id]
        assert node.money == pytest.approx(Economics().labour(node.minutes) + goods_price(model.equipment, job))
        states[node.number] = replace(case.asker, unit_state=load.after[node.id])


def test_the_same_question_has_the_same_path(urn: CompiledModel) -> None:
    cold = [finding(urn, "stays_cold", "present")]
    assert path_of(urn, cold) == path_of(urn, cold)


def test_a_path_keeps_to_its_bounds(urn: CompiledModel) -> None:
    cold = [finding(urn, "stays_cold", "present")]
    for depth in (1, 2, 3):
        path = path_of(urn, cold, depth=depth)
        assert max(n.depth for n in path.nodes) == depth - 1
        assert "depth" in {b.cut.why for _, b in leaves(path) if b.cut}
    for most in (1, 3, 5):
        path = path_of(urn, cold, most_nodes=most)
        assert len(path.nodes) == most
        assert "most_nodes" in {b.cut.why for _, b in leaves(path) if b.cut}
    path = path_of(urn, cold, least_chance=0.1)
    assert min(n.chance for n in path.nodes) >= 0.1
    assert all(b.reached >= 0.1 for n in path.nodes for b in n.branches if not (b.cut and b.cut.why == "least_chance"))


def test_a_leaf_that_is_not_followed_says_so_and_what_it_costs(urn: CompiledModel) -> None:
    path = path_of(urn, [finding(urn, "stays_cold", "present")], depth=2)
    cuts = [b.cut for _, b in leaves(path) if b.cut]
    by_reason = {c.why: c for c in cuts}
    assert "deeper than 2 steps" in by_reason["depth"].sentence
    assert by_reason["depth"].title
    assert all(c.estimate == "decision" for c in cuts if c.why == "depth")
    assert all(c.cost > 0 for c in cuts)


def test_steps_are_opened_one_at_a_time_the_likeliest_first(urn: CompiledModel) -> None:
    planner = Planner(urn, Economics(), 5.0, 0.01)
    cold = (finding(urn, "stays_cold", "present"),)
    start = planner.arrive(0, 1.0, cold, (), {}, Asker(), frozenset(), 5.0)
    chances = [step.place.chance for step in islice(opened(planner, start, 6), 12)]
    assert len(chances) == 12
    assert chances == sorted(chances, reverse=True)
    few = {n.findings for n in path_of(urn, cold, most_nodes=5).nodes}
    assert few < {n.findings for n in path_of(urn, cold, most_nodes=12).nodes}, "more steps only add to a path"


def test_what_is_found_missing_from_the_unit_is_known_from_then_on(urn: CompiledModel) -> None:
    """A probe that can't be read is none: from there the path is that of an urn known to have none."""
    path = path_of(urn, [finding(urn, "stays_cold", "present")], most_nodes=12)
    probe = next(n for n in path.nodes if n.id == "read_probe")
    without = next(b for b in probe.branches if b.outcomes == ("not_done",))
    assert without.step is not None
    then = path.nodes[without.step - 1]
    found = [finding(urn, "stays_cold", "present"), *(
        finding(urn, f.about, f.outcome) for f in then.findings if f.outcome != "not_done")]
    told = path_of(urn, found, known={"level_probe": "none"}, passed_over=["read_probe"], first_budget=20)
    assert (then.id, then.cost) == (told.nodes[0].id, told.nodes[0].cost)


def test_a_bell_by_hand() -> None:
    """A bell with a flat battery (.6, 2 min) or a broken wire (.4, 10 min), and a look at the wire (.5 min).

    Looking first: .5 + .6 x 2 + .4 x 10 = 5.7 min; battery first: 2 + .4 x 10 = 6; wire first: 10 + .6 x 2 = 11.2.
    The look is sure, so after the repair nothing is left whatever the trial run seems to show (2 errors in 100).
    """
    parts = {
        "battery": component({"flat": mode(600, "new_battery")}), "wire": component({"broken": mode(400, "new_wire")}),
    }
    said = document(parts, {"look": observation("wire", {"torn": ["broken"], "whole": "otherwise"}, minutes=0.5)})
    said["remedies"] = {
        "new_battery": {"title": "New battery", "minutes": 2}, "new_wire": {"title": "New wire", "minutes": 10},
    }
    path = path_of(compile_model(load_data(said)), economics=MINUTE_IS_MONEY, least_chance=0.001)
    look, *repairs = path.nodes
    assert (look.id, look.optimal) == ("look", True)
    assert [(b.outcomes, b.step) for b in look.branches] == [(("whole",), 2), (("torn",), 3)]
    assert [b.chance for b in look.branches] == pytest.approx([0.6, 0.4], abs=1e-6)
    assert [n.id for n in repairs] == ["new_battery", "new_wire"]
    for node in repairs:
        assert [b.outcomes for b in node.branches] == [("runs",), ("still_faulty",)]
        assert [b.chance for b in node.branches] == pytest.approx([0.98, 0.02], abs=1e-6)
        assert all(b.end is not None and b.end.kind == "close" for b in node.branches)
    totals = path.totals
    assert (totals.minutes, totals.money) == pytest.approx((5.7, 5.7), abs=1e-6)
    assert (totals.tests, totals.repairs, totals.cut) == pytest.approx((1, 1, 0), abs=1e-6)
    assert totals.finished == pytest.approx(1, abs=1e-6)


def test_repairs_are_tried_in_the_order_of_chance_over_cost() -> None:
    """J. Kadane and H. Simon 1977; D. Heckerman, J. Breese and K. Rommelse, CACM 38(3), 1995 (recomputed).

    Chances .4 .3 .2 .1, costs 10 2 5 1: b and d come first, then a and c, which tie (.04). Coming again costs little
    here: where it is dear, the errors of the trial run, which the rule does not know, count for more than the order.
    The chances of a clean trial run are worked out by hand: .02 + .96 x P(nothing is left).
    """
    path = path_of(
        repairs_only({"a": (0.4, 10), "b": (0.3, 2), "c": (0.2, 5), "d": (0.1, 1)}), economics=MINUTE_IS_MONEY,
        least_chance=0.001,
    )
    order, node = [], path.nodes[0]
    while True:
        order.append(node.id)
        still = next((b.step for b in node.branches if b.outcomes == ("still_faulty",)), None)
        if still is None:
            break
        node = path.nodes[still - 1]
    assert order[:2] == ["mend_b", "mend_d"]
    assert set(order[2:4]) == {"mend_a", "mend_c"}
    first = {b.outcomes[0]: b.chance for b in path.nodes[0].branches}
    assert first["runs"] == pytest.approx(0.3 * 0.98 + 0.7 * 0.02, abs=1e-6)
    second = path.nodes[1]
    assert second.findings[-1].outcome == "still_faulty"
    left = {"a": 0.4 * 0.98, "c": 0.2 * 0.98, "d": 0.1 * 0.98, "nothing": 0.3 * 0.02}
    clean = (0.98 * (left["d"] + left["nothing"]) + 0.02 * (left["a"] + left["c"])) / sum(left.values())
    assert {b.outcomes[0]: b.chance for b in second.branches}["runs"] == pytest.approx(clean, abs=1e-6)


def test_a_chain_is_halved() -> None:
    """Half-split: one bad link of eight takes log2 8 = 3 tests (D. Huffman 1952; recomputed)."""
    links = range(8)
    parts = {f"link_{i}": component({"broken": mode(10, f"replace_{i}")}) for i in links}
    signals: dict[str, Any] = {}
    for i in links[:-1]:
        rules: list[dict[str, Any]] = [{"when": {"any_fault": [f"link_{i}.broken"]}, "state": "absent"}]
        rules = [*([{"when": {f"after_{i - 1}": "absent"}, "state": "absent"}] if i else []), *rules]
        signals[f"after_{i}"] = {"title": "x", "states": ["present", "absent"], "rules": [*rules, {"state": "present"}]}
    looks = {f"look_{i}": observation(f"after_{i}", {"there": ["present"], "gone": ["absent"]}) for i in links[:-1]}
    said = document(parts, looks, signals=signals)
    for remedy in said["remedies"].values():
        remedy["minutes"] = 10
    path = path_of(compile_model(load_data(said)), economics=MINUTE_IS_MONEY, most_nodes=100, least_chance=1e-4)
    assert path.nodes[0].id == "look_3"
    assert path.totals.tests == pytest.approx(3, abs=1e-4)
    assert path.totals.minutes == pytest.approx(13, abs=1e-3)
    assert path.totals.finished == pytest.approx(1, abs=1e-4)


def test_after_a_repair_that_runs_the_path_is_at_its_end(urn: CompiledModel) -> None:
    found = [finding(urn, *f) for f in (
        ("stays_cold", "present"), ("watch_thermostat", "opens"), ("replace_thermostat", "runs"))]
    path = path_of(urn, found)
    assert path.nodes == ()
    assert path.end is not None
    assert (path.end.kind, path.end.title) == ("close", "Close the job")
    assert path.totals.finished == path.end.nothing_left == believe(urn, found).nothing_left > 0.9


def test_without_the_part_one_returns_with_it(urn: CompiledModel) -> None:
    path = path_of(urn, [finding(urn, "stays_cold", "present")], asker=Asker(parts=frozenset()))
    ends = [b.end for _, b in leaves(path) if b.end and b.end.kind == "return"]
    assert {p.number for end in ends for p in end.parts} >= {"Q-100", "Q-200", "Q-201"}
    stocked = {part for n in path.nodes for part in n.parts}
    assert not stocked, "no repair is a step whose part is not at hand"


def test_the_desk_sends_a_technician_with_parts(urn: CompiledModel) -> None:
    path = path_of(urn, [finding(urn, "stays_cold", "present")], asker=Asker(role="site_contact"))
    assert all(n.kind == "ask" for n in path.nodes)
    ends = [b.end for _, b in leaves(path) if b.end]
    assert {end.title for end in ends} == {"Send a technician"}
    assert all(end.parts for end in ends)


def test_nothing_is_done_twice_on_one_way() -> None:
    for name in ("little_ice", "no_ice"):
        for way, _ in leaves(followed(name).path):
            assert len({n.id for n in way}) == len(way)


def test_isolation_is_told_in_the_order_of_the_standard_and_undone_before_live_work(ice_maker: CompiledModel) -> None:
    equipment = ice_maker.equipment
    isolated_steps = restored_steps = 0
    for name in ("little_ice", "no_ice"):
        path = followed(name).path
        power: dict[int | None, str] = {None: "energised"}
        for node in path.nodes:
            now = power[node.comes_from]
            job = equipment.remedies.get(node.id) or equipment.observations[node.id]
            wanted = dict(job.needs).get("power", now)
            if (now, wanted) == ("energised", "isolated"):
                isolated_steps += 1
                places = [next(i for i, s in enumerate(node.switching) if s.startswith(w)) for w in ORDER_OF_ISOLATION]
                assert places == sorted(places)
            if (now, wanted) == ("isolated", "energised"):
                restored_steps += 1
                assert any("restore the supply" in s for s in node.switching), node.title
            power[node.number] = wanted
            if node.trial is not None:
                check = equipment.observations[node.trial.test] if node.trial.test else None
                live = "energised" if check is None else dict(check.needs).get("power", wanted)
                assert (wanted, live) != ("isolated", "energised") or any(
                    "restore the supply" in s for s in node.trial.switching)
                restored_steps += wanted != live
                power[node.number] = live
            for branch in node.branches:
                if branch.end is not None and power[node.number] == "isolated":
                    assert any("restore the supply" in s for s in branch.end.switching)
    assert isolated_steps
    assert restored_steps


def test_covers_go_back_on_before_the_unit_is_left(ice_maker: CompiledModel) -> None:
    path = followed("no_ice").path
    open_ends = 0
    for way, branch in leaves(path):
        states = {name: u.usual for name, u in ice_maker.equipment.unit_states.items()}
        for node in way:
            job = ice_maker.equipment.remedies.get(node.id) or ice_maker.equipment.observations[node.id]
            states |= dict(job.needs)
            if node.trial is not None and node.trial.test is not None:
                states |= dict(ice_maker.equipment.observations[node.trial.test].needs)
        if branch.end is not None and states["front_panel"] == "off":
            open_ends += 1
            assert any("Front panel: on" in words for words in branch.end.switching)
    assert open_ends


def test_every_hazard_of_a_step_and_of_its_trial_run_is_named_and_cautioned(ice_maker: CompiledModel) -> None:
    path = followed("no_ice").path
    named = set()
    for node in path.nodes:
        job = ice_maker.equipment.remedies.get(node.id) or ice_maker.equipment.observations[node.id]
        trial = node.trial and node.trial.test
        hazards = {*job.hazards, *(ice_maker.equipment.observations[trial].hazards if trial else ())}
        assert {h.hazard for h in node.hazards} == hazards
        named |= hazards
    assert named
    assert {c.hazard for c in path.cautions} == named
    assert all(c.precautions for c in path.cautions)


def test_clashing_findings_are_pointed_out(ice_maker: CompiledModel) -> None:
    found = [finding(ice_maker, *f) for f in (
        ("look_lamp", "dark"), ("read_alarm", "three"), ("time_build", "normal"))]
    path = path_of(ice_maker, found, asker=LICENSED, most_nodes=1)
    assert any("hardly go together" in note for note in path.notes)
