"""What callers say: `phrases.yaml`, a second author's `phrases_second.yaml`, a third set, each in two halves."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any
from zlib import crc32

import yaml

PHRASES = Path(__file__).with_name("phrases.yaml")
SECOND = Path(__file__).with_name("phrases_second.yaml")
THIRD = Path(__file__).with_name("phrases_third.yaml")


@dataclass(frozen=True, slots=True)
class Said:
    """A caller's sentence: of which kind, about which machine (empty: any), and the symptoms that are meant.

    Each of `meant` is a set of symptoms of which any is right. For a negated one they are those that are denied; for
    danger it is the kind of danger.
    """

    text: str
    kind: str
    equipment: str
    meant: tuple[frozenset[str], ...]

    @property
    def held_out(self) -> bool:
        """Whether it is in the half that nothing is tuned on."""
        return bool(crc32(self.text.encode()) & 1)


@lru_cache(maxsize=1)
def everything() -> tuple[Said, ...]:
    """All of the first set."""
    return _read(PHRASES)


@lru_cache(maxsize=1)
def second() -> tuple[Said, ...]:
    """All of the second author's set."""
    return _read(SECOND)


@lru_cache(maxsize=1)
def third() -> tuple[Said, ...]:
    """All of the third set."""
    return _read(THIRD)


def _read(path: Path) -> tuple[Said, ...]:
    data = yaml.safe_load(path.read_text(encoding="utf-8"))
    return tuple(s for machine, kinds in data.items() for kind, group in kinds.items()
                 for s in _group(machine if machine != "anything" else "", kind, group))


def _group(machine: str, kind: str, group: Any) -> Iterator[Said]:
    if isinstance(group, dict):
        for name, texts in group.items():
            for text in texts:
                yield Said(str(text), kind, machine, (frozenset(str(name).split("|")),))
        return
    for entry in group:
        text, names = entry if isinstance(entry, list) else (entry, [])
        yield Said(str(text), kind, machine, tuple(frozenset(n.split("|")) for n in names))


def half(kind: str, held_out: bool, of: tuple[Said, ...] | None = None) -> list[Said]:
    """The sentences of one kind in one half, of the first set unless another is given."""
    return [s for s in (everything() if of is None else of) if s.kind == kind and s.held_out == held_out]
