"""Plain data with something wrong in it: a node that is gone, that is something else, or that stands elsewhere."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from typing import Any

from hypothesis import strategies as st

Path = tuple[str | int, ...]
ODD: tuple[Any, ...] = (
    None, True, 0, -1, 0.5, 2**63, 10**40, 1e308, "", "mutated", "Not A Name", "\u0000", "\u202e", "x" * 3000, [], {},
    [[[[]]]], {"mutated": {}},
)
"""What may come in a node's place."""


def paths(data: Any, above: Path = ()) -> Iterator[Path]:
    """The path of every node below the top."""
    inside = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in inside:
        yield (*above, key)
        yield from paths(value, (*above, key))


def at(data: Any, path: Path) -> Any:
    """The node at a path."""
    for key in path:
        data = data[key]
    return data


@st.composite
def mutated(draw: st.DrawFn, whole: dict[str, Any]) -> dict[str, Any]:
    """`whole` with one to three nodes removed, renamed, replaced, or replaced by another node of it."""
    data = copy.deepcopy(whole)
    for _ in range(draw(st.integers(1, 3))):
        *above, last = draw(st.sampled_from(list(paths(data))))
        holder = at(data, tuple(above))
        change = draw(st.sampled_from(["remove", "rename", "odd", "other"]))
        if change == "odd":
            holder[last] = copy.deepcopy(draw(st.sampled_from(ODD)))
        elif change == "other":
            holder[last] = copy.deepcopy(at(whole, draw(st.sampled_from(list(paths(whole))))))
        else:
            value = holder.pop(last)
            if change == "rename" and isinstance(holder, dict):
                holder[draw(st.sampled_from(["", "mutated", "Not A Name", "\u0000", *map(str, holder)]))] = value
        if not data:
            break
    return data
