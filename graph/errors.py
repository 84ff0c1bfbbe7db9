"""Everything the core can refuse, as data: one hierarchy, a stable code each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from typing import ClassVar

PathItem = str | int


def nearest_name(name: str, valid: Iterable[str]) -> str | None:
    """The valid name most like `name`, or None where none is near (ratio under 0.6)."""
    close = get_close_matches(name[:200], list(valid), n=1, cutoff=0.6)
    return close[0] if close else None


def listed(names: Iterable[str], most: int = 8) -> str:
    """A readable list of names, cut after `most`."""
    names = list(names)
    tail = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + tail


@dataclass(frozen=True, slots=True)
class Defect:
    """One thing wrong with a graph document: what, where, expected, nearest name.

    Where a module of the document is behind it, `path` is the place of its use and `module` the place in the module.
    """

    code: str
    path: tuple[PathItem, ...]
    found: str
    expected: str
    nearest: str | None = None
    source: str | None = None
    line: int | None = None
    module: str | None = None

    @property
    def pointer(self) -> str:
        """The path as a JSON Pointer (RFC 6901)."""
        return "".join("/" + str(p).replace("~", "~0").replace("/", "~1") for p in self.path)

    def sentence(self) -> str:
        """One line for people: place, code, found, expected, hint."""
        place = ":".join(str(p) for p in (self.source, self.line) if p is not None)
        where = f"{place}: " if place else ""
        hint = f"; did you mean {self.nearest!r}?" if self.nearest else ""
        behind = f" (from the module, {self.module})" if self.module else ""
        return (
            f"{where}{self.pointer or '/'}: {self.code}: "
            f"found {self.found}, expected {self.expected}{hint}{behind}"
        )


class HalfsplitError(Exception):
    """Base of all refusals. `code` is stable; attributes say what, where and what was expected."""

    code: ClassVar[str] = "error"

    def __init__(
        self,
        detail: str,
        *,
        pointer: str = "",
        expected: str | None = None,
        nearest: str | None = None,
    ) -> None:
        super().__init__(detail)
        self.detail = detail
        self.pointer = pointer
        self.expected = expected
        self.nearest = nearest


class DocumentError(HalfsplitError):
    """A document that can't be used; carries every defect found."""

    code = "graph-not-usable"

    def __init__(self, defects: Iterable[Defect], what: str = "graph document") -> None:
        self.defects = tuple(defects)
        count = len(self.defects)
        super().__init__(f"the {what} has {count} defect{'s' if count != 1 else ''}")


class UnknownName(HalfsplitError):
    """A name that this machine's graph doesn't have."""

    code = "unknown-name"

    def __init__(self, kind: str, name: str, valid: Iterable[str], *, pointer: str = "") -> None:
        valid = list(valid)
        self.kind = kind
        self.name = name
        super().__init__(
            f"{name!r} is not a known {kind}",
            pointer=pointer,
            expected=f"one of: {listed(valid)}" if valid else f"this graph has no {kind}s at all",
            nearest=nearest_name(name, valid),
        )


class FindingMisfit(HalfsplitError):
    """A finding whose parts exist but don't belong together."""

    code = "finding-misfit"


class UnitMisfit(HalfsplitError):
    """A unit, or a value in it, that the quantity asked for can't have."""

    code = "unit-misfit"


class CurrencyMismatch(HalfsplitError):
    """Prices in one currency, costs in another."""

    code = "currency-mismatch"


class GraphTooLarge(HalfsplitError):
    """More hypotheses than the limit; fewer simultaneous faults are needed."""

    code = "graph-too-large"
