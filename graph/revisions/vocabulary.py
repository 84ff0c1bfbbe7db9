"""The words for every field of every record of an equipment: a field without a word would be a change unseen."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from graph.equipment import (
    Acceptance,
    CallerWords,
    Component,
    Condition,
    FailureMode,
    Hazard,
    Observation,
    Part,
    Remedy,
    Rule,
    Signal,
    Step,
    UnitState,
)
from graph.revisions.readings import reading
from graph.revisions.wording import (
    Pair,
    Wording,
    flag,
    keyed,
    members,
    needed,
    never,
    number,
    plain,
    price,
)


def _rule(rule: Rule, pair: Pair) -> str:
    """A rule of a signal, in words."""
    asked = [f"{pair.title(name)} is {' or '.join(states)}" for name, states in rule.needs]
    if rule.any_fault:
        asked.append(f"there is any of {', '.join(pair.title(m) for m in rule.any_fault)}")
    if rule.all_faults:
        asked.append(f"there are all of {', '.join(pair.title(m) for m in rule.all_faults)}")
    return f"{rule.state} when {' and '.join(asked)}" if asked else f"{rule.state} otherwise"


def _rules(before: tuple[Rule, ...], after: tuple[Rule, ...], pair: Pair) -> list[str]:
    clauses = [f"now {_rule(r, pair)} (rule {i})" for i, r in enumerate(after, 1) if r not in before]
    clauses += [f"no longer {_rule(r, pair)} (was rule {i})" for i, r in enumerate(before, 1) if r not in after]
    return clauses or ["rules in another order: " + "; ".join(_rule(r, pair) for r in after)]


def _wear(before: Any, after: Any, pair: Pair) -> list[str]:
    def words(wear: Any) -> str:
        return "no wear" if wear is None else f"shape {wear.shape:g}, life {wear.life_years:g} years"

    return [f"wear: {words(before)} → {words(after)}"]


def _raised(before: Any, after: Any, pair: Pair) -> list[str]:
    def table(raised: Any) -> dict[str, float]:
        return {f"{pair.title(c)} {state}": factor for c, state, factor in raised}

    return keyed("times as often with")(table(before), table(after), pair)


def _parts(before: Any, after: Any, pair: Pair) -> list[str]:
    def table(parts: Any) -> dict[str, int]:
        return {f"{pair.title(part)} ({part})": pieces for part, pieces in parts}

    return keyed("pieces of")(table(before), table(after), pair)


def _caller(before: CallerWords | None, after: CallerWords | None, pair: Pair) -> list[str]:
    def words(caller: CallerWords | None) -> str:
        return "as it stands" if caller is None else " ".join((f"{caller.title}.", *caller.how, caller.worked))

    return [f"said to a caller: {words(before)} → {words(after)}"]


def _outcomes(before: Any, after: Any, pair: Pair) -> list[str]:
    old, new = {o.id: o.title for o in before}, {o.id: o.title for o in after}
    clauses = [f"new outcome “{t}”" for o, t in new.items() if o not in old]
    clauses += [f"no longer the outcome “{t}”" for o, t in old.items() if o not in new]
    clauses += [f"outcome “{old[o]}” is now called “{t}”" for o, t in new.items() if o in old and old[o] != t]
    return clauses or [f"outcomes in another order: {', '.join(new)}"]


COMMON: Mapping[str, Wording] = {
    "id": never,
    "title": plain("title"),
    "minutes": number("minutes"),
    "role": plain("may be done by"),
    "licence": plain("licence"),
    "instruments": members("now with", "no longer with", "instruments in another order"),
    "hazards": members("now with the hazard", "no longer with the hazard", "hazards in another order"),
    "how": members("new step:", "no longer the step:", "steps in another order", named=False),
    "needs": needed,
    "disturbs": members(
        "now destroys the evidence of", "no longer destroys the evidence of", "disturbs, in another order",
    ),
    "materials": number("of materials", label="uses up"),
    "only_if": keyed("only if"),
    "note": plain("note"),
}

VOCABULARY: Mapping[type, Mapping[str, Wording]] = MappingProxyType({
    Condition: {
        "id": never,
        "title": plain("title"),
        "states": members("new state", "no longer the state", "states in another order", named=False),
        "shares": plain("shares"),
        "question": plain("question"),
        "titles": keyed("state"),
    },
    FailureMode: {
        **{k: COMMON[k] for k in ("id", "title", "only_if", "note")},
        "component": never,
        "calls_per_thousand": number("calls in a thousand"),
        "remedies": members("now also put right by", "no longer put right by", "put right first by, in this order"),
        "shows": number("trials in 100", 100, "shows in"),
        "wear": _wear,
        "raised_by": _raised,
    },
    Component: {
        "id": never,
        "title": plain("title"),
        "group": plain("group"),
        "external": flag("now outside the unit", "now inside the unit"),
        "can_coincide": flag(
            "its failure modes may now be present together", "its failure modes now exclude each other",
        ),
        "modes": members("now fails by", "no longer fails by", "failure modes in another order"),
    },
    Signal: {
        "id": never,
        "title": plain("title"),
        "states": members("new state", "no longer the state", "states in another order", named=False),
        "rules": _rules,
        "titles": keyed("state"),
    },
    Observation: {
        **COMMON,
        "kind": never,
        "reveals": lambda a, b, pair: [f"reveals {pair.title(b)} instead of {pair.title(a)}"],
        "outcomes": _outcomes,
        "chances": plain("chances"),
        "sees_intermittent": flag(
            "now finds faults that are not showing", "no longer finds faults that are not showing",
        ),
        "repeats": number("times", label="done"),
        "reading": reading,
        "phrases": members("now also said as", "no longer said as", "phrases in another order", named=False),
    },
    Remedy: {
        **{k: w for k, w in COMMON.items() if k not in ("only_if", "note")},
        "parts": _parts,
        "caller": _caller,
        "verify": lambda a, b, pair: [f"proved by {pair.title(b or 'none')} instead of {pair.title(a or 'none')}"],
    },
    Part: {
        "id": never,
        "number": plain("number"),
        "title": plain("title"),
        "price": price,
        "volume_litres": number("litres"),
        "weight_kg": number("kg"),
        "alternatives": members("now replaced as well by", "no longer replaced by", "alternatives in another order"),
        "superseded_by": lambda a, b, pair: [
            f"superseded by {pair.title(b)}" if b else f"no longer superseded by {pair.title(a)}"
        ],
        "consumable": flag("now used up by the work", "no longer used up by the work"),
    },
    Hazard: {
        "id": never,
        "title": plain("title"),
        "precautions": members(
            "new precaution:", "no longer the precaution:", "precautions in another order", named=False,
        ),
    },
    UnitState: {
        "id": never,
        "title": plain("title"),
        "states": members("new state", "no longer the state", "states in another order", named=False),
        "usual": plain("usually"),
        "minutes": keyed("minutes to reach"),
        "lockout": plain("locked out when"),
        "guards": flag("now guards live parts", "no longer guards live parts"),
        "live": flag("now ends when locked out", "no longer ends when locked out"),
        "disturbs": keyed("evidence destroyed by reaching"),
    },
    Step: {
        "id": never,
        "title": plain("title"),
        "happens": plain("what happens"),
        "watch": plain("what to watch"),
        "minutes": number("minutes"),
        "shows": keyed("shows"),
    },
    Acceptance: {"code": never, "where": never, "reason": plain("reason")},
})

WHOLE: Mapping[str, Wording] = MappingProxyType({
    "id": plain("id"),
    "title": plain("title"),
    "category": plain("category"),
    "maker": plain("maker"),
    "summary": plain("summary"),
    "data_note": plain("note on the data"),
    "currency": plain("currency"),
    "most_faults": number("faults at once at most"),
    "coincidence": number("calls in 100 with two faults or more", 100),
    "nothing_wrong": number("calls in 100 with nothing wrong", 100),
    "unlisted": number("calls in 100 with an unlisted cause", 100),
    "options": members("new option", "no longer the option", "options in another order"),
    "cautions": members("new caution:", "no longer the caution:", "cautions in another order", named=False),
})
"""The fields of an equipment that are no collections of records."""

KINDS: Mapping[str, str] = MappingProxyType({
    "sequence": "step", "hazards": "hazard", "instruments": "instrument", "unit_states": "unit state",
    "conditions": "condition", "components": "component", "modes": "failure mode", "signals": "signal",
    "observations": "observation", "remedies": "remedy", "parts": "part", "accepted": "acceptance",
})
"""The collections of an equipment, in the order of a document, and what one of each is called."""

