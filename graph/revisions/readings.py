"""What changed in a reading: quantity, instrument, circumstances, and what is expected in each state."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from typing import Any

from graph.readings.quantities import Unit
from graph.readings.records import Circumstance, CurveUse, Expected, Reading
from graph.revisions.wording import Pair, said

LABELS: dict[type, dict[str, str]] = {
    Reading: {
        "quantity": "quantity", "unit": "unit", "circumstances": "depends on", "expected": "in state",
        "percent": "accuracy, of the reading", "counts": "accuracy, last digits", "step": "last digit",
        "wrong": "chance of a number that is not of the state", "ambient": "pressure around", "title": "title",
    },
    Circumstance: {
        "id": "", "title": "title", "unit": "unit", "usual": "usually", "accuracy": "known within",
        "varies": "varies by",
    },
    Expected: {
        "state": "", "title": "title", "value": "value", "curve": "curve", "low": "from", "high": "to",
        "tolerance": "give or take", "fraction": "give or take, of the value", "factor": "times", "offset": "plus",
        "rank": "place in the document",
    },
    CurveUse: {"curve": "curve", "numbers": "parameters", "words": "words", "inputs": "from circumstances"},
}
"""The words for every field of the records of a reading."""


def reading(before: Reading | None, after: Reading | None, pair: Pair) -> list[str]:
    """Clauses for a reading that came, went or changed."""
    if before is None or after is None:
        return ["now reads a number" if before is None else "no longer reads a number"]
    return [f"reading, {clause}" for clause in _compared(before, after)]


def same(before: Any, after: Any) -> bool:
    """Whether two values are the same, field by field where they are records."""
    if before is None or after is None or type(before) is not type(after):
        return bool(before == after)
    return not list(_compared(before, after)) if type(before) in LABELS else bool(before == after)


def _compared(before: Any, after: Any) -> Iterator[str]:
    for field in fields(before):
        label, old, new = LABELS[type(before)][field.name], getattr(before, field.name), getattr(after, field.name)
        if field.name in ("circumstances", "expected"):
            yield from _each(label, _keyed(old), _keyed(new))
        elif type(old) in LABELS and type(old) is type(new):
            yield from _compared(old, new)
        elif old != new:
            yield f"{label or field.name}: {_word(old)} → {_word(new)}"


def _keyed(records: tuple[Any, ...]) -> dict[str, Any]:
    """Circumstances by their id; expectations by what their document calls them."""
    return {getattr(r, "id", None) or r.state: r for r in records if r is not None}


def _each(label: str, old: dict[str, Any], new: dict[str, Any]) -> Iterator[str]:
    for key in dict.fromkeys([*old, *new]):
        if key not in old:
            yield f"{label} {key}: now {_word(new[key])}"
        elif key not in new:
            yield f"{label} {key}: no longer {_word(old[key])}"
        else:
            yield from (f"{label} {key}: {clause}" for clause in _compared(old[key], new[key]))


def _word(value: Any) -> str:
    if isinstance(value, Unit):
        return value.symbol
    if type(value) in LABELS:
        words = ((LABELS[type(value)][f.name], getattr(value, f.name)) for f in fields(value))
        return ", ".join(f"{label} {_word(v)}" for label, v in words if label and v not in (None, 0, 0.0, "", ()))
    return said(value)
