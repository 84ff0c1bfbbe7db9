"""What each part is worth in a kit, and why others are left out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from graph.equipment import Equipment
from graph.explain import percent
from graph.kit.answers import KitLine, LeftOut, Why
from graph.kit.problem import KitProblem

WORTH_A_WORD = 0.02
"""Chance of a part being needed from which it is said why it is left out."""
WORDS = {
    "budget": "the budget", "volume_litres": "the room", "weight_kg": "the weight", "count": "the number of pieces",
}


def why_aboard(needed: float, contribution: float) -> str:
    """How surely the usual repair wants a part; one that does more than that is there to serve for another."""
    if needed < contribution - 1e-9:
        return "serves in another part's place"
    return f"needed with a chance of {percent(needed)}"


def lines_of(
    problem: KitProblem, loaded: Sequence[int], needed: Mapping[str, float], equipment: Equipment
) -> tuple[KitLine, ...]:
    """The parts of a kit, those it depends on most first."""
    places = [i for i, n in enumerate(loaded) if n]
    with_all, *without = problem.chances([
        loaded, *([0 if j == i else n for j, n in enumerate(loaded)] for i in places),
    ])
    lines = []
    for i, chance in zip(places, without, strict=True):
        item, quantity, lost = problem.items[i], loaded[i], max(0.0, with_all - chance)
        carrying = problem.terms.carrying(item, quantity)
        saved = lost * problem.terms.trip
        forced = item.key in dict(problem.terms.must) and saved < carrying
        lines.append(KitLine(
            item.key, item.number, item.title, quantity, item.price * quantity, item.consumable, needed[item.key], lost,
            saved - carrying, equipment.parts[item.key].alternatives,
            f"{item.title}: {why_aboard(needed[item.key], lost)}; without it the chance to finish falls by "
            f"{percent(lost)}, which is {saved:.2f} of return trips against {carrying:.2f} for having it out"
            + (", so it comes along only because you asked for it." if forced else "."),
        ))
    return tuple(sorted(lines, key=lambda line: (-line.contribution, line.part)))


def left_out_of(problem: KitProblem, loaded: Sequence[int], needed: Mapping[str, float]) -> tuple[LeftOut, ...]:
    """The parts that may well be needed and are not loaded, likeliest first."""
    places = sorted(
        (i for i, item in enumerate(problem.items) if not loaded[i] and needed[item.key] >= WORTH_A_WORD),
        key=lambda i: (-needed[problem.items[i].key], problem.items[i].key),
    )
    pieces = {i: _pieces(problem, i) for i in places}
    chance, *with_more = problem.chances([
        loaded, *([pieces[i] if j == i else n for j, n in enumerate(loaded)] for i in places),
    ])
    return tuple(
        _left_out(problem, loaded, i, pieces[i], needed[problem.items[i].key], max(0.0, more - chance))
        for i, more in zip(places, with_more, strict=True)
    )


def _pieces(problem: KitProblem, i: int) -> int:
    """The most pieces of an item that one repair wants; none where no repair open to the asker wants it."""
    return max((n for _, needs in problem.shares for need in needs for way in need for serves, n in way if i in serves),
               default=0)


def _left_out(
    problem: KitProblem, loaded: Sequence[int], i: int, pieces: int, chance: float, adds: float
) -> LeftOut:
    item, terms = problem.items[i], problem.terms
    days = dict(terms.lead_days).get(item.key)
    full = next((room for room, most in terms.limits
                 if problem.used(room, loaded) + (item.takes(room) or 0.0) * pieces > most), None)
    carrying, saved = terms.carrying(item, pieces), adds * terms.trip
    instead = sorted({
        problem.items[j].title for _, needs in problem.shares for need in needs for way in need for serves, _ in way
        if i in serves for j in serves if j != i and loaded[j] + problem.aboard[j]
    })
    lead = f"{item.title}: needed with a chance of {percent(chance)}"
    why: Why
    if not pieces:
        why, reason = "no_licence", "the repair takes a licence that is not held."
    elif problem.aboard[i] >= pieces:
        why, reason = "aboard", "already on the van."
    elif adds <= 1e-9 and instead:
        why, reason = "served", f"{' or '.join(instead)} serves in its place."
    elif problem.most[i] < pieces and item.superseded:
        why, reason = "not_to_be_had", "superseded, and none is aboard."
    elif problem.most[i] < pieces:
        unknown = [WORDS[room] for room, _ in terms.limits if item.takes(room) is None]
        reason = f"its size is not known, and {unknown[0]} is limited." if unknown else (
            "it can't be had now" + (f"; more comes in {days:g} days." if days is not None else ".")
        )
        why = "not_to_be_had"
    elif full is not None and saved > carrying:
        why, reason = "no_room", f"it would add {percent(adds)}, but {WORDS[full]} is used up by what adds more."
    elif adds <= 1e-9:
        why, reason = "not_worth_it", "alone it finishes nothing: such a repair wants other parts besides."
    else:
        why = "not_worth_it"
        reason = f"it would spare {saved:.2f} of return trips, and having it out costs {carrying:.2f}."
    return LeftOut(item.key, item.number, item.title, chance, why, adds, days, f"{lead}, but left out: {reason}"
                   if why != "aboard" else f"{lead}: {reason}")
