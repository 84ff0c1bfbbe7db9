"""How a change of one field is said. A wording takes what the field was and is, and gives clauses."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from graph.equipment import Equipment


@dataclass(frozen=True, slots=True)
class Pair:
    """The two documents."""

    before: Equipment
    after: Equipment

    def title(self, name: str) -> str:
        """What an id is called, in the newer document if it is there."""
        for equipment in (self.after, self.before):
            if name in equipment.modes:
                return f"“{equipment.mode_title(name)}”"
            if name in equipment.instruments:
                return f"“{equipment.instruments[name]}”"
            title = equipment.title_of(name)
            if title != name:
                return f"“{title}”"
        return name


Wording = Callable[[Any, Any, Pair], list[str]]


def said(value: Any) -> str:
    """A value in a few words."""
    if value is None or value == "" or value == ():
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float | int):
        return f"{value:.6g}"
    if isinstance(value, Mapping):
        return said(tuple(value.items()))
    if isinstance(value, tuple | list):
        return ", ".join(_joined(v) for v in value)
    return str(value)


def _joined(value: Any) -> str:
    """A pair or a list inside a list."""
    if isinstance(value, tuple):
        return " ".join(" or ".join(map(said, v)) if isinstance(v, tuple) else said(v) for v in value)
    return said(value)


def never(before: Any, after: Any, pair: Pair) -> list[str]:
    """Of what records are matched by: it can't differ."""
    raise AssertionError(f"{before!r} matched with {after!r}")


def plain(label: str) -> Wording:
    """`label: before → after`."""
    return lambda before, after, _: [f"{label}: {said(before)} → {said(after)}"]


def number(unit: str, scale: float = 1.0, label: str = "") -> Wording:
    """`24 → 35 calls in a thousand`; `scale` turns fractions into hundredths."""
    lead = f"{label} " if label else ""

    def word(value: float | None) -> str:
        return "unsaid" if value is None else f"{value * scale:.6g}"

    return lambda before, after, _: [f"{lead}{word(before)} → {word(after)} {unit}".rstrip()]


def price(before: float, after: float, pair: Pair) -> list[str]:
    """What money does."""
    word = "dearer" if after > before else "cheaper"
    return [f"{word}: {before:.2f} → {after:.2f} {pair.after.currency}"]


def flag(now: str, no_longer: str) -> Wording:
    """Of yes and no."""
    return lambda before, after, _: [now if after else no_longer]


def members(now: str, no_longer: str, again: str, named: bool = True) -> Wording:
    """Of a list: what came, what went; `again` where the same came in another order or number.

    `named` says that the list holds ids, which are told by their titles.
    """

    def words(before: Any, after: Any, pair: Pair) -> list[str]:
        old, new = _items(before), _items(after)
        clauses = [f"{now} {_said_item(v, pair, named)}" for v in new if v not in old]
        clauses += [f"{no_longer} {_said_item(v, pair, named)}" for v in old if v not in new]
        return clauses or [f"{again}: {', '.join(_said_item(v, pair, named) for v in new)}"]

    return words


def _items(value: Any) -> list[Any]:
    return list(value.items()) if isinstance(value, Mapping) else list(value)


def _said_item(item: Any, pair: Pair, named: bool) -> str:
    if not named:
        return f"“{item}”" if isinstance(item, str) else _joined(item)
    if isinstance(item, str):
        return pair.title(item)
    first, *rest = item
    return f"{pair.title(first)} {_joined(tuple(rest))}".rstrip()


def needed(before: Any, after: Any, pair: Pair) -> list[str]:
    """Of the unit states that a job needs."""
    old, new = dict(before), dict(after)
    units = {**pair.before.unit_states, **pair.after.unit_states}
    clauses = []
    for name in sorted({**old, **new}):
        title = units[name].title if name in units else name
        if name not in old:
            clauses.append(f"now needs {title} {said(new[name])}")
        elif name not in new:
            clauses.append(f"no longer needs {title} {said(old[name])}")
        elif old[name] != new[name]:
            clauses.append(f"needs {title} {said(new[name])} instead of {said(old[name])}")
    return clauses or ["needs the same in another order"]


def keyed(label: str, scale: float = 1.0) -> Wording:
    """Of a map, or pairs of a name and a value: each key that differs."""

    def word(value: Any) -> str:
        return said(value * scale) if isinstance(value, float) else said(value)

    def words(before: Any, after: Any, _: Pair) -> list[str]:
        old, new = dict(before), dict(after)
        clauses = []
        for key in _merged(old, new):
            if key not in old:
                clauses.append(f"{label} {key}: now {word(new[key])}")
            elif key not in new:
                clauses.append(f"{label} {key}: no longer {word(old[key])}")
            elif old[key] != new[key]:
                clauses.append(f"{label} {key}: {word(old[key])} → {word(new[key])}")
        return clauses or [f"{label}: the same in another order"]

    return words


def _merged(old: Collection[str], new: Collection[str]) -> Iterable[str]:
    return dict.fromkeys([*old, *new])
