"""From what was asked about a kit to what the core is asked, checked against the names of parts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from api.consultation import Question
from graph.belief import Belief, believe
from graph.context import Asker, Economics
from graph.errors import UnknownName
from graph.kit import plan
from graph.kit.answers import Kit, VanLoad
from graph.kit.stock import ROOMS, Room, Terms
from graph.kit.van import van_load
from graph.policy.ranking import rank_tests
from graph.policy.worktable import situation
from schemas.kit_requests import KitAsked, KitWanted


def kit_answer(asked: Question, wanted: KitWanted) -> Kit:
    """The kit of one job."""
    asker, lost = situation(asked.model, asked.findings, asked.asker)
    belief = believe(asked.model, asked.findings, asked.known)
    closed = (*asked.passed_over, *lost)
    ranking = rank_tests(belief, asker, asked.economics, closed)
    terms = replace(
        _terms(asked.economics, wanted), stock=tuple(wanted.stock.items()), lead_days=tuple(wanted.lead_days.items()),
        must=tuple(wanted.must_bring.items()),
    )
    told = {found.about for found in asked.findings if found.counts}
    return plan.exact_kit(
        belief, ranking,
        plan.KitWanted(terms, wanted.questions, wanted.frontier or wanted.form == "svg", wanted.minutes),
        {*closed, *told},
    )


def van_answer(
    beliefs: Sequence[Belief], wanted: KitAsked, economics: Economics, asker: Asker,
    pieces: Mapping[str, Mapping[str, int]] = MappingProxyType({}),
) -> VanLoad:
    """The load for a day of jobs; `pieces` are those `aboard`, in `stock` and that it `must_bring`, by part number.

    Raises UnknownName for part numbers that no job's machine has.
    """
    numbers = sorted({part.number for belief in beliefs for part in belief.model.equipment.parts.values()})
    for what, named in pieces.items():
        for number in named:
            if number not in numbers:
                raise UnknownName("part number", number, numbers, pointer=f"/{what}/{number}")
    given = {what: tuple(named.items()) for what, named in pieces.items()}
    terms = replace(
        _terms(economics, wanted), aboard=given.get("aboard", ()), stock=given.get("stock", ()),
        must=given.get("must_bring", ()),
    )
    return van_load(beliefs, asker, terms)


def _terms(economics: Economics, wanted: KitAsked) -> Terms:
    limits: dict[Room, float] = dict(Terms.of(economics).limits)
    for room in ROOMS:
        most = getattr(wanted, room)
        if most is not None:
            limits[room] = min(float(most), limits.get(room, float(most)))
    return replace(Terms.of(economics), aim=wanted.aim, limits=tuple(limits.items()))
