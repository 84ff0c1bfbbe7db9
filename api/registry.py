"""The equipment that every tenant sees: documents read at start-up, each the newest revision of its family."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from types import MappingProxyType

from sqlalchemy import Connection

from api.models import Canonical, Kept, compiled
from api.problems import Refusal
from api.storage import graphs
from api.tables import SHARED
from graph.compile import CompiledModel
from graph.equipment import Equipment
from graph.errors import Defect, DocumentError, GraphTooLarge, nearest_name
from graph.hypotheses import MOST_HYPOTHESES
from schemas.answers import GraphStamp
from schemas.document import Document
from schemas.load import load_text
from schemas.problems import ProblemItem
from schemas.source import parse

_SUFFIXES = (".yaml", ".yml", ".json")


class EquipmentNotUsable(Exception):
    """Graph documents that can't be served; carries every defect of every file."""

    def __init__(self, defects: Iterable[Defect]) -> None:
        self.defects = tuple(defects)
        super().__init__("\n".join(d.sentence() for d in self.defects))


@dataclass(frozen=True, slots=True)
class Stocked:
    """One family of machines as it is now."""

    stamp: GraphStamp
    model: CompiledModel
    canonical: Canonical

    @property
    def equipment(self) -> Equipment:
        """The family itself."""
        return self.model.equipment


class Registry:
    """Families by id."""

    def __init__(self, stocked: Iterable[Stocked]) -> None:
        self.families: Mapping[str, Stocked] = MappingProxyType(
            {s.equipment.id: s for s in sorted(stocked, key=lambda s: s.equipment.id)}
        )
        self.by_digest: Mapping[str, Stocked] = MappingProxyType({s.stamp.digest: s for s in self.families.values()})


def unknown_equipment(name: str, known: Iterable[str], pointer: str) -> Refusal:
    """That there is no family with this id, and which is the nearest."""
    detail = f"{name!r} is not a known equipment"
    item = ProblemItem(pointer, detail, "an id that GET /v1/equipment lists", nearest_name(name, known))
    return Refusal("unknown-equipment", detail, [item])


def documents(directories: Iterable[Path], packaged: bool) -> Iterator[tuple[str, bytes]]:
    """Name and text of every graph document, the packaged ones first."""
    roots: list[Traversable] = [files("fixtures") / "equipment"] if packaged else []
    roots += list(directories)
    for root in roots:
        for entry in sorted(root.iterdir(), key=lambda e: e.name):
            if entry.name.endswith(_SUFFIXES):
                yield entry.name, entry.read_bytes()


def load(db: Connection, texts: Iterable[tuple[str, bytes]], now: str) -> Registry:
    """Check every document, store what is new as the next revision. Raises EquipmentNotUsable."""
    defects: list[Defect] = []
    usable: dict[str, Kept] = {}
    for name, text in texts:
        try:
            load_text(text, name)
            canonical = Canonical.of(Document.model_validate(parse(text, name).data))
            kept = compiled(canonical, MOST_HYPOTHESES)
        except DocumentError as error:
            defects += error.defects
            continue
        except GraphTooLarge as error:
            path = tuple(error.pointer.split("/")[1:])
            defects.append(Defect(error.code, path, error.detail, error.expected or "a smaller graph", None, name))
            continue
        identity = kept.model.equipment.id
        if identity in usable:
            defects.append(Defect("name-twice", ("equipment", "id"), repr(identity), "one file a family", None, name))
        usable[identity] = kept
    if defects:
        raise EquipmentNotUsable(defects)
    return Registry(
        Stocked(
            GraphStamp(name, graphs.loaded(db, SHARED, name, k.canonical, now), k.canonical.digest), k.model,
            k.canonical,
        )
        for name, k in usable.items()
    )
