"""Parameters: what was given, checked, and put where a module speaks of `$parameter`."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from schemas.modules.shapes import Kind, ParameterShape

_SPOKEN = re.compile(r"\$(?:\{([a-z][a-z0-9_]*)\}|([a-z][a-z0-9_]*))")
_EXPECTED: dict[Kind, tuple[type | tuple[type, ...], str]] = {
    "words": (str, "words as they stand within a sentence, e.g. float switch of the wash tank"),
    "text": (str, "text"),
    "number": ((int, float), "a number"),
    "name": (str, "the name of an entry of this document"),
    "when": (dict, "a condition as in a rule's `when`, e.g. {mains: absent}"),
    "map": (dict, "a map, e.g. {power: isolated}"),
    "list": (list, "a list, e.g. [1.15, 2.2]"),
    "choice": (str, "one of its choices"),
}


def spoken(text: str) -> Iterator[str]:
    """The parameters that a text speaks of."""
    return (m.group(1) or m.group(2) for m in _SPOKEN.finditer(text))


def whole(text: str) -> str | None:
    """The parameter that a text is, and nothing besides."""
    match = _SPOKEN.fullmatch(text)
    return (match.group(1) or match.group(2)) if match else None


def expectation(shape: ParameterShape, value: object) -> str | None:
    """What was expected of a value that can't be this parameter's; None where it can."""
    kinds, expected = _EXPECTED[shape.kind]
    if isinstance(value, bool) or not isinstance(value, kinds) or value in ("", {}, []):
        return expected
    return None


class Filling:
    """The values of one instance's parameters."""

    def __init__(self, shapes: Mapping[str, ParameterShape], values: Mapping[str, Any]) -> None:
        self._shapes = shapes
        self._values = values

    def text(self, text: str, *, begins: bool = True) -> str:
        """A text with its parameters written out; words that begin it get a capital if it `begins` something."""
        match = _SPOKEN.match(text)
        filled = _SPOKEN.sub(lambda m: self._worded(m.group(1) or m.group(2)), text)
        first = (match.group(1) or match.group(2)) if match else None
        if begins and first is not None and self._shapes[first].kind == "words":
            return filled[:1].upper() + filled[1:]
        return filled

    def value(self, text: str) -> Any:
        """What a text stands for: a parameter's own value where it is nothing besides, else text."""
        name = whole(text)
        if name is None or self._shapes[name].kind == "words":
            return self.text(text)
        return self._values[name]

    def default(self, value: Any, *, begins: bool) -> Any:
        """A default with the parameters that it speaks of."""
        if isinstance(value, dict):
            return {key: self.default(item, begins=begins) for key, item in value.items()}
        if not isinstance(value, str):
            return value
        return self.value(value) if begins else self.text(value, begins=False)

    def _worded(self, name: str) -> str:
        value = self._values[name]
        return f"{value:g}" if isinstance(value, float) else str(value)
