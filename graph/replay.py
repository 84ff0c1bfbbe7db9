"""Known calls replayed: where the truth stood after each finding, and what the kit at dispatch was good for.

A known call is one whose cause was found in the end. What was believed of it is what was wrong when it came in: a
repair that was carried out in between changes what is left, not what was.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from graph.belief import Belief, believe
from graph.compile import CompiledModel
from graph.context import Asker, Economics
from graph.errors import HalfsplitError, UnknownName
from graph.evidence import Finding
from graph.kit.choose import choose
from graph.kit.needs import Need, need_table
from graph.kit.plan import kit_problem
from graph.kit.problem import Coverage, indexed
from graph.kit.stock import Terms, items_of
from graph.suspects import ambiguity_groups

NOTHING, UNLISTED = "no_fault_found", "unlisted"
LIKELIEST = 5
"""How many of the likeliest parts the kit is compared with."""


class TruthMisfit(HalfsplitError):
    """Failure modes that no hypothesis of this machine holds together."""

    code = "truth-misfit"


@dataclass(frozen=True, slots=True)
class KnownCall:
    """One call with its end. `truth` are failure modes, or `no_fault_found` or `unlisted` alone.

    `at_dispatch` is how many of the findings were there when the van was loaded; `row` is a hypothesis that is the
    truth, as `truth_row` finds it.
    """

    title: str
    complaint: str
    truth: tuple[str, ...]
    row: int
    asker: Asker
    findings: tuple[Finding, ...]
    at_dispatch: int
    closed: str


@dataclass(frozen=True, slots=True)
class Place:
    """Where the truth stood after a finding (`about` is empty before any).

    `rank` is 1 where nothing that was not so is likelier than the least likely mode of the truth, `group_rank` the
    same for ambiguity groups. `chance` is that of the truth.
    """

    about: str
    said: str
    rank: int
    group_rank: int
    chance: float


@dataclass(frozen=True, slots=True)
class Load:
    """Parts that were loaded: (part, pieces), their price, whether some repair of the truth finds its parts there."""

    parts: tuple[tuple[str, int], ...]
    price: float
    enough: bool


@dataclass(frozen=True, slots=True)
class Replay:
    """One call replayed: `places` before any finding and after each, the kit at dispatch beside the likeliest parts.

    `wants_part` says that every repair of the truth takes a part.
    """

    title: str
    truth: tuple[str, ...]
    places: tuple[Place, ...]
    kit: Load
    likeliest: Load
    wants_part: bool

    @property
    def first(self) -> bool:
        """Whether the truth was in front in the end."""
        return self.places[-1].rank == 1

    @property
    def in_first_group(self) -> bool:
        """Whether the truth was in front in the end, but for what no test can tell from it."""
        return self.first or self.places[-1].group_rank == 1


@dataclass(frozen=True, slots=True)
class Tally:
    """All known calls of a machine: shares of calls, of those that want a part for `part_aboard`; mean prices."""

    calls: int
    first: float
    in_first_group: float
    could_finish: float
    wanting_parts: int
    part_aboard: float
    likeliest_aboard: float
    kit_price: float
    likeliest_price: float
    failing: tuple[Replay, ...]


def truth_row(model: CompiledModel, truth: Sequence[str]) -> int:
    """A hypothesis that is the truth, whatever the conditions.

    Raises UnknownName for a failure mode that there is none of, TruthMisfit where no hypothesis has these modes.
    """
    hypotheses = model.hypotheses
    for i, name in enumerate(truth):
        if name not in hypotheses.modes and (name not in (NOTHING, UNLISTED) or len(truth) > 1):
            raise UnknownName("failure mode", name, hypotheses.modes, pointer=f"/truth/{i}")
    if truth[0] == UNLISTED:
        return int(np.flatnonzero(hypotheses.unlisted)[0])
    wanted = {hypotheses.modes.index(name) for name in truth if name != NOTHING}
    for row in np.flatnonzero(~hypotheses.unlisted & ((hypotheses.members >= 0).sum(axis=1) == len(wanted))).tolist():
        if {m for m in hypotheses.members[row].tolist() if m >= 0} == wanted:
            return int(row)
    most = model.equipment.most_faults
    raise TruthMisfit(
        f"{' with '.join(truth)}", pointer="/truth",
        expected=f"at most {most} failure modes that can be there together",
    )


def replay(model: CompiledModel, call: KnownCall, economics: Economics | None = None) -> Replay:
    """Replay one call, finding by finding. A pure function of its arguments."""
    economics = economics or Economics()
    told: list[Place] = []
    for count in range(len(call.findings) + 1):
        belief = believe(model, call.findings[:count])
        newest = call.findings[count - 1] if count else None
        told.append(_place(belief, call, newest))
    belief = believe(model, call.findings[: call.at_dispatch])
    need = _need(model, call.row)
    problem = kit_problem(belief, call.asker, Terms.of(economics))
    chosen = {item.key: n for item, n in zip(problem.items, choose(problem).loaded, strict=True) if n}
    aboard = dict(call.asker.parts or ())
    return Replay(
        call.title, call.truth, tuple(told), _load(model, chosen, aboard, need),
        _load(model, _likeliest(belief), aboard, need), bool(need) and all(way for way in need),
    )


def _place(belief: Belief, call: KnownCall, newest: Finding | None) -> Place:
    model = belief.model
    names = [*model.hypotheses.modes, NOTHING, UNLISTED]
    number = {name: i for i, name in enumerate(names)}
    hypotheses = model.hypotheses
    empty = (hypotheses.members[:, 0] < 0) & ~hypotheses.unlisted
    present, rest = model.marginals["modes"] @ belief.before, (empty, hypotheses.unlisted)
    chances = np.array([*present, *(belief.before[rows].sum() for rows in rest)])
    truth = [number[name] for name in call.truth]
    least = min(float(chances[i]) for i in truth)
    rank = 1 + sum(1 for i, c in enumerate(chances.tolist()) if i not in truth and c > least)
    groups = {frozenset(g) for g in ambiguity_groups(model, call.asker, belief.scene)}
    groups |= {frozenset([number[NOTHING]]), frozenset([number[UNLISTED]])}
    masses = {group: float(chances[sorted(group)].sum()) for group in groups}
    own = min(mass for group, mass in masses.items() if group & set(truth))
    group_rank = 1 + sum(1 for group, mass in masses.items() if mass > own and not group & set(truth))
    said = "" if newest is None else ", ".join(name for name, _ in newest.counts) or "not known"
    return Place(newest.about if newest else "", said, rank, group_rank, _chance(belief, call.row))


def _chance(belief: Belief, row: int) -> float:
    """The chance of exactly the fault set of a row."""
    hypotheses = belief.model.hypotheses
    return float(belief.before[hypotheses.fault_set == hypotheses.fault_set[row]].sum())


def _need(model: CompiledModel, row: int) -> Need:
    """What the repair of a row takes, for somebody with every licence; nothing where nothing is to be repaired."""
    table = need_table(model, Asker(role="site_contact"))
    number = int(table.of_set[model.hypotheses.fault_set[row]])
    return table.needs[number] if number < len(table.needs) else ()


def _likeliest(belief: Belief) -> dict[str, int]:
    """The likeliest parts, each in the pieces that a repair takes."""
    pieces = Counter[str]()
    for remedy in belief.model.equipment.remedies.values():
        for part, n in remedy.parts:
            pieces[part] = max(pieces[part], n)
    return {part: pieces[part] for part, chance in belief.likely("parts", 0.0)[:LIKELIEST] if chance > 0}


def _load(model: CompiledModel, chosen: Mapping[str, int], aboard: Mapping[str, int], need: Need) -> Load:
    items = items_of(model.equipment)
    place = {item.key: i for i, item in enumerate(items)}
    held = np.zeros((1, len(items)))
    for part, n in [*chosen.items(), *aboard.items()]:
        held[0, place[part]] += n
    enough = bool(need) and bool(Coverage([indexed(need, place)], len(items)).of(held)[0, 0])
    price = sum(model.equipment.parts[part].price * n for part, n in chosen.items())
    return Load(tuple(sorted(chosen.items())), price, enough)


def tally(replays: Sequence[Replay]) -> Tally:
    """The shares over all calls. Calls fail where the truth is not in front in the end, or its parts stayed behind."""
    wanting = [r for r in replays if r.wants_part]
    return Tally(
        len(replays),
        _share([r.first for r in replays]),
        _share([r.in_first_group for r in replays]),
        _share([r.kit.enough for r in replays]),
        len(wanting),
        _share([r.kit.enough for r in wanting]),
        _share([r.likeliest.enough for r in wanting]),
        float(np.mean([r.kit.price for r in replays])) if replays else 0.0,
        float(np.mean([r.likeliest.price for r in replays])) if replays else 0.0,
        tuple(r for r in replays if not (r.in_first_group and (r.kit.enough or not r.wants_part))),
    )


def _share(said: Sequence[bool]) -> float:
    return sum(said) / len(said) if said else 1.0
