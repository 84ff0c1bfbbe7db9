"""Everything that differs between two documents, ordered by kind and id."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from typing import Any

from graph.equipment import Equipment, FailureMode, Observation, Part, Remedy
from graph.lint.places import Path, of_mode, of_observation
from graph.revisions.readings import same
from graph.revisions.vocabulary import KINDS, VOCABULARY, WHOLE
from graph.revisions.wording import Pair, said

MOST_CELLS = 4
"""Chances of outcomes that are told one by one before the rest is counted."""


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that differs: `kind` and `id` of the entry, `what` of it, and the change in words.

    `what` is a field's name, or `added`, `removed` or `order`.
    """

    kind: str
    id: str
    pointer: str
    what: str
    sentence: str


def changes_of(before: Equipment, after: Equipment) -> tuple[Change, ...]:
    """The changes from one document to another, kind by kind in the order of a document, then by id."""
    pair = Pair(before, after)
    found = list(_whole(pair))
    for collection, kind in KINDS.items():
        old, new = _table(before, collection), _table(after, collection)
        for key in sorted({*old, *new}):
            found += _entry(kind, collection, key, old.get(key), new.get(key), pair)
        common = [key for key in old if key in new]
        if collection == "sequence" and common != [key for key in new if key in old]:
            found.append(Change("equipment", after.id, "/equipment/sequence", "order",
                                f"the sequence: its steps in another order: {', '.join(new)}"))
    return tuple(found)


def _whole(pair: Pair) -> Iterator[Change]:
    for name, wording in WHOLE.items():
        old, new = getattr(pair.before, name), getattr(pair.after, name)
        if old != new:
            yield Change("equipment", pair.after.id, f"/equipment/{name}", name,
                         f"the equipment: {'; '.join(wording(old, new, pair))}")


def _table(equipment: Equipment, collection: str) -> Mapping[str, Any]:
    """A collection by the keys that its entries are matched by."""
    entries = getattr(equipment, collection)
    if collection == "sequence":
        return {step.id: step for step in entries}
    if collection == "accepted":
        return {f"{a.code} at {a.where}": a for a in entries}
    if collection == "observations":
        return {f"{o.kind} {o.id}": o for o in entries.values()}
    return dict(entries)


def _entry(kind: str, collection: str, key: str, old: Any, new: Any, pair: Pair) -> Iterator[Change]:
    record = new if new is not None else old
    name = key
    if isinstance(record, Observation):
        kind, name = record.kind, record.id
    pointer = "".join(f"/{p}" for p in _place(collection, name, record))
    title = f"{kind} “{_title(record, name, pair)}”"
    if old is None or new is None:
        sentence = f"new {title}{_described(record, pair)}" if old is None else f"no longer {title}"
        yield Change(kind, name, pointer, "added" if old is None else "removed", sentence)
    elif isinstance(record, str):
        if old != new:
            yield Change(kind, name, pointer, "title", f"{kind} {name}: title: {old} → {new}")
    else:
        for field in fields(record):
            before, after = getattr(old, field.name), getattr(new, field.name)
            if not same(before, after):
                clauses = (
                    _chances(old, new, pair) if field.name == "chances"
                    else VOCABULARY[type(record)][field.name](before, after, pair)
                )
                if clauses:
                    yield Change(kind, name, pointer, field.name, f"{title}: {'; '.join(clauses)}")


def _place(collection: str, name: str, record: Any) -> Path:
    if collection == "modes":
        return of_mode(name)
    if isinstance(record, Observation):
        return of_observation(record)
    return ("equipment", "sequence") if collection == "sequence" else (collection, name)


def _title(record: Any, name: str, pair: Pair) -> str:
    if isinstance(record, FailureMode):
        owner = pair.after if name in pair.after.modes else pair.before
        return owner.mode_title(name)
    return record if isinstance(record, str) else getattr(record, "title", name)


def _described(record: Any, pair: Pair) -> str:
    """What matters most of a new entry."""
    if isinstance(record, FailureMode):
        return f": {record.calls_per_thousand:g} calls in a thousand, put right by {pair.title(record.remedies[0])}"
    if isinstance(record, Observation):
        return f": reveals {pair.title(record.reveals)}, {record.minutes:g} minutes"
    if isinstance(record, Remedy):
        return f": {record.minutes:g} minutes" + (f", {said(record.parts)}" if record.parts else "")
    return f": {record.price:.2f} {pair.after.currency}" if isinstance(record, Part) else ""


def _chances(old: Observation, new: Observation, pair: Pair) -> list[str]:
    """Which outcomes come up more or less often, by revealed state; the states may differ too."""
    tables = []
    for equipment, o in ((pair.before, old), (pair.after, new)):
        states = equipment.states_of(o.reveals)
        tables.append({
            (state, outcome.id): chance for state, row in zip(states, o.chances, strict=True)
            for outcome, chance in zip(o.outcomes, row, strict=True)
        })
    was, now = tables
    moved = sorted(
        ((key, was.get(key, 0.0), now.get(key, 0.0)) for key in {*was, *now} if was.get(key) != now.get(key)),
        key=lambda entry: (-abs(entry[2] - entry[1]), entry[0]),
    )
    clauses = [f"“{_outcome(old, new, o)}” with {s}: {100 * a:.4g} → {100 * b:.4g} in 100" for (s, o), a, b in moved]
    if not moved:
        return ["chances in another order"]
    rest = len(clauses) - MOST_CELLS
    return [*clauses[:MOST_CELLS], f"and {rest} more"] if rest > 0 else clauses


def _outcome(old: Observation, new: Observation, outcome: str) -> str:
    return (new if any(o.id == outcome for o in new.outcomes) else old).outcome_title(outcome)
