"""The equipment that every tenant sees: documents read at start-up, each the newest revision of its family."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from threading import RLock
from types import MappingProxyType

from sqlalchemy import Connection

from api.models import Canonical, compiled
from api.problems import Refusal
from api.remembered import Remembered
from api.storage import graphs
from api.tables import SHARED
from graph.compile import CompiledModel
from graph.equipment import Equipment
from graph.errors import Defect, DocumentError, GraphTooLarge, nearest_name
from graph.hypotheses import MOST_HYPOTHESES, hypotheses_of
from schemas.answers import GraphStamp
from schemas.build import equipment_of
from schemas.load import document_of
from schemas.problems import ProblemItem

_SUFFIXES = (".yaml", ".yml", ".json")


class EquipmentNotUsable(Exception):
    """Graph documents that can't be served; carries every defect of every file."""

    def __init__(self, defects: Iterable[Defect]) -> None:
        self.defects = tuple(defects)
        super().__init__("\n".join(d.sentence() for d in self.defects))


class Stocked:
    """One family of machines as it is now; its records and its model are made when they are first asked for.

    Whoever asks while they are being made waits for them.
    """

    def __init__(self, stamp: GraphStamp, canonical: Canonical, model: CompiledModel | None = None) -> None:
        self.stamp, self.canonical = stamp, canonical
        self._making = RLock()
        self._model = model
        self._equipment = None if model is None else model.equipment

    @property
    def ready(self) -> bool:
        """Whether the model is there."""
        return self._model is not None

    @property
    def equipment(self) -> Equipment:
        """The family itself."""
        if self._equipment is None:
            with self._making:
                self._equipment = self._equipment or equipment_of(self.canonical.document())
        return self._equipment

    @property
    def model(self) -> CompiledModel:
        """Its compiled graph."""
        if self._model is None:
            with self._making:
                self._model = self._model or compiled(self.canonical, MOST_HYPOTHESES, self.equipment).model
        return self._model


class Registry:
    """Families by id."""

    def __init__(self, stocked: Iterable[Stocked]) -> None:
        self.families: Mapping[str, Stocked] = MappingProxyType(
            {s.stamp.equipment: s for s in sorted(stocked, key=lambda s: s.stamp.equipment)}
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


def load(db: Connection, texts: Iterable[tuple[str, bytes]], now: str, remembered: Remembered) -> Registry:
    """Check every document, store what is new as the next revision. Raises EquipmentNotUsable."""
    defects: list[Defect] = []
    usable: dict[str, Canonical] = {}
    for name, text in texts:
        try:
            identity, canonical = remembered.recall(text) or _sound(name, text, remembered)
        except DocumentError as error:
            defects += error.defects
            continue
        except GraphTooLarge as error:
            path = tuple(error.pointer.split("/")[1:])
            defects.append(Defect(error.code, path, error.detail, error.expected or "a smaller graph", None, name))
            continue
        if identity in usable:
            defects.append(Defect("name-twice", ("equipment", "id"), repr(identity), "one file a family", None, name))
        usable[identity] = canonical
    if defects:
        raise EquipmentNotUsable(defects)
    return Registry(
        Stocked(GraphStamp(name, graphs.loaded(db, SHARED, name, canonical, now), canonical.digest), canonical)
        for name, canonical in usable.items()
    )


def _sound(name: str, text: bytes, remembered: Remembered) -> tuple[str, Canonical]:
    """The family of a text and its canonical form. Raises DocumentError and GraphTooLarge."""
    document = document_of(text, name)
    equipment = equipment_of(document)
    hypotheses_of(equipment, MOST_HYPOTHESES)
    canonical = Canonical.of(document)
    remembered.keep(text, equipment.id, canonical)
    return equipment.id, canonical
