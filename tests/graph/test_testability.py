"""Detection, isolation and splits: by brute force over single faults, and on the urn by hand."""

from __future__ import annotations

from collections import defaultdict
from random import Random
from typing import Any

import pytest

from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.policy.calls import draw_calls, play
from graph.policy.contenders import ours
from graph.testability import report
from graph.testability.isolation import isolation
from graph.testability.splits import best_split, merged, mistaken, one_repair
from tests.graph.counting import Possibility, shared_bits
from tests.graph.drawn import Machine, compiled
from tests.machines import small_machine

Spread = tuple[tuple[str, float], ...]


class ByHand:
    """Single faults of a document, one at a time, in every state of the conditions."""

    def __init__(self, machine: Machine, names: set[str]) -> None:
        self.counting, self.names = machine.counting, names
        self.scenes = machine.model.hypotheses.scenes.names
        calls: dict[Any, dict[str, float]] = defaultdict(lambda: defaultdict(float))
        self.example: dict[Any, Possibility] = {}
        for one in self.counting.prior:
            if one.faults is not None and len(one.faults) <= 1:
                scene = tuple((c, s) for c, s in one.conditions if c in self.scenes)
                fault = next(iter(one.faults), "")
                calls[scene][fault] += one.chance
                if one.chance > 0 or not fault:
                    self.example.setdefault((scene, fault), one)
        self.calls = {s: {f: c for f, c in row.items() if c > 0 and f} for s, row in calls.items()}
        self.total = sum(sum(row.values()) for row in self.calls.values())
        self.usual: dict[str, float] = defaultdict(float)
        for row in self.calls.values():
            for fault, chance in row.items():
                self.usual[fault] += chance

    def spread(self, name: str, scene: Any, fault: str) -> Spread:
        observation = self.counting.observations[name]
        one = self.example.get((scene, fault)) or Possibility(frozenset({fault} - {""}), scene, 0)
        if not self.counting.fits(observation, one):
            return ()
        return tuple((o, round(c, 10)) for o, c in self.counting.once(observation, one).items())

    def seen(self, scene: Any, fault: str) -> tuple[Spread, ...]:
        about = (self.counting.about(self.counting.observations[n]) for n in sorted(self.names))
        return tuple(
            self.spread(n, scene, fault) for n, what in zip(sorted(self.names), about, strict=True)
            if what not in self.counting.conditions
        )

    def groups(self) -> dict[tuple[Any, frozenset[str]], bool]:
        found: dict[Any, set[str]] = defaultdict(set)
        for scene, row in self.calls.items():
            for fault in row:
                found[scene, self.seen(scene, fault)].add(fault)
        return {(scene, frozenset(g)): seen != self.seen(scene, "") for (scene, seen), g in found.items()}


@pytest.mark.parametrize("seed", range(40))
def test_shares_agree_with_brute_force(seed: int) -> None:
    machine = compiled(small_machine(seed))
    names = [n for n in machine.model.equipment.observations if Random(seed).random() < 0.8 or seed % 2]
    by_hand = ByHand(machine, set(names))
    found = isolation(machine.model, names)
    groups = by_hand.groups()
    modes = machine.model.hypotheses.modes
    assert sorted((tuple(sorted(modes[m] for m in g.modes)), g.detected) for g in found.groups) == sorted(
        (tuple(sorted(g)), detected) for (_, g), detected in groups.items()
    )

    def share(chosen: Any) -> tuple[float, float]:
        hits = [(by_hand.calls[scene][f], by_hand.usual[f]) for scene, g, d in
                ((s, g, d) for (s, g), d in groups.items()) if chosen(g, d) for f in g]
        return sum(c for c, _ in hits), sum(c / u for c, u in hits)

    seen, every = share(lambda g, d: d), share(lambda g, d: True)
    assert found.detected().by_rate == pytest.approx(seen[0] / every[0], abs=1e-9)
    assert found.detected().by_count == pytest.approx(seen[1] / every[1], abs=1e-9)
    for most in (1, 2, 3):
        inside = share(lambda g, d, most=most: d and len(g) <= most)
        assert found.isolated(most).by_rate == pytest.approx(inside[0] / seen[0] if seen[0] else 1, abs=1e-9)
        assert found.isolated(most).by_count == pytest.approx(inside[1] / seen[1] if seen[1] else 1, abs=1e-9)


@pytest.mark.parametrize("seed", range(40))
def test_the_best_split_agrees_with_brute_force(seed: int) -> None:
    machine = compiled(small_machine(seed))
    model, every = machine.model, list(machine.model.equipment.observations)
    able = [n for n in every if Random(seed).random() < 0.3]
    missing = {n: () if n in able else ("a ladder",) for n in every}
    by_hand = ByHand(machine, set(able))
    for group in isolation(model, able).groups:
        if len(group.modes) < 2:
            continue
        names = [model.hypotheses.modes[m] for m in group.modes]
        scene = next(
            s for s, g in by_hand.groups() if g == frozenset(names)
            and abs(sum(by_hand.calls[s][n] for n in names) / by_hand.total - group.mass) < 1e-9
        )
        best = max((_bits(by_hand, n, scene, names) for n in every if n not in able), default=0.0)
        split = best_split(model, group, missing)
        if best > 1e-6:
            assert split is not None
            assert split.kind == "test"
            assert split.bits == pytest.approx(best, abs=1e-6)
            assert _bits(by_hand, split.name, scene, names) == pytest.approx(best, abs=1e-6)
        elif split is not None:
            assert split.kind == "signal"
            states = {by_hand.counting.state(split.name, frozenset({n}), by_hand.example[scene, n].conditions)
                      for n in names}
            assert len(states) > 1


def _bits(by_hand: ByHand, name: str, scene: Any, faults: list[str]) -> float:
    if by_hand.counting.about(by_hand.counting.observations[name]) in by_hand.counting.conditions:
        return 0.0
    kinds = {f: by_hand.counting.modes[f]["remedies"][0] for f in faults}
    if len(set(kinds.values())) == 1:
        kinds = {f: f for f in faults}
    table: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for fault in faults:
        for outcome, chance in by_hand.spread(name, scene, fault):
            table[kinds[fault]][outcome] += by_hand.calls[scene][fault] * chance
    total = sum(sum(row.values()) for row in table.values())
    return shared_bits({k: {o: c / total for o, c in row.items()} for k, row in table.items()}) if total else 0.0


def test_what_a_caller_cannot_tell_apart_and_what_would(urn: CompiledModel) -> None:
    told = report.rate(urn, report.crews(urn.equipment))
    phone, bare, full = told.crews
    assert [c.role for c in told.crews] == ["site_contact", "technician", "technician"]
    assert "socket.dead" in phone.groups[0].failure_modes
    assert phone.groups[0].split is not None
    assert phone.groups[0].split.kind == "test"
    assert "a technician" in phone.groups[0].split.missing
    assert phone.isolated_to_1.by_rate < bare.isolated_to_1.by_rate <= full.isolated_to_1.by_rate
    # Without a level probe nothing notices that the urn is empty: three urns in four have none.
    hidden = [g for g in isolation(urn, urn.equipment.observations).groups if not g.detected]
    assert [[urn.hypotheses.modes[m] for m in g.modes] for g in hidden] == [["reservoir.empty"]]
    assert full.detected.by_rate == pytest.approx(1 - hidden[0].mass)
    usual = isolation(urn, ()).usual[hidden[0].modes[0]]
    assert full.detected.by_count == pytest.approx(1 - hidden[0].mass / usual / 7)


def test_a_signal_is_named_where_no_test_would_help(urn: CompiledModel) -> None:
    # Nothing but the caller's word that it stays cold: a reading of the element's supply would tell most.
    group = max(merged(isolation(urn, ["stays_cold"]).groups), key=lambda g: g.mass)
    nothing = dict.fromkeys(urn.equipment.observations, ())
    split = best_split(urn, group, nothing)
    assert split is not None
    assert (split.kind, split.missing) == ("signal", ())
    assert split.bits > 0.5


def test_one_repair_for_all_is_no_mistake(urn: CompiledModel) -> None:
    modes = urn.hypotheses.modes
    for group in isolation(urn, ()).groups:
        rates = [group.calls[i] for i, m in enumerate(group.modes) if modes[m].startswith("element.")]
        assert not one_repair(urn, group)
        assert 0 < mistaken(urn, group) <= group.mass - sum(rates) + 1e-12, "a new element serves scaled and burnt ones"
    for group in isolation(urn, urn.equipment.observations).groups:
        assert mistaken(urn, group) < group.mass


def test_the_cost_is_that_of_the_visits_played(urn: CompiledModel) -> None:
    cost = report.visit_cost(urn, Asker(), 40, 3, 0.0, Economics())
    visits = [play(urn, call, ours(0), Asker(), Economics()) for call in draw_calls(urn, 40, 3)]
    assert cost.tests.mean == sum(v.tests for v in visits) / 40
    assert cost.minutes.mean == pytest.approx(sum(v.minutes for v in visits) / 40)
    assert cost.first_visit == sum(v.fixed for v in visits) / 40
    assert abs(cost.money.mean - sum(v.money for v in visits) / 40) < 30, "corrected for the causes that were drawn"
    told = report.rate(urn, report.crews(urn.equipment), calls=40, seed=3)
    assert told.crews[-1].cost == cost
