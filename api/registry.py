"""The equipment this service knows: documents read at start-up, each the newest revision of its family."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from types import MappingProxyType

from api.models import Canonical, Models
from api.problems import Refusal
from api.store import Store
from graph.compile import CompiledModel
from graph.equipment import Equipment
from graph.errors import Defect, DocumentError, GraphTooLarge, nearest_name
from graph.hypotheses import MOST_HYPOTHESES
from schemas.answers import GraphStamp
from schemas.load import document_of
from schemas.problems import ProblemItem

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

    def of(self, name: str, pointer: str = "") -> Stocked:
        """The family with this id. Raises Refusal unknown-equipment."""
        if name not in self.families:
            nearest = nearest_name(name, self.families)
            detail = f"{name!r} is not a known equipment"
            expected = "an id that GET /v1/equipment lists"
            raise Refusal("unknown-equipment", detail, [ProblemItem(pointer, detail, expected, nearest)])
        return self.families[name]


def documents(directories: Iterable[Path], packaged: bool) -> Iterator[tuple[str, bytes]]:
    """Name and text of every graph document, the packaged ones first."""
    roots: list[Traversable] = [files("fixtures") / "equipment"] if packaged else []
    roots += list(directories)
    for root in roots:
        for entry in sorted(root.iterdir(), key=lambda e: e.name):
            if entry.name.endswith(_SUFFIXES):
                yield entry.name, entry.read_bytes()


def load(store: Store, models: Models, texts: Iterable[tuple[str, bytes]]) -> Registry:
    """Check every document, store what is new as the next revision. Raises EquipmentNotUsable."""
    defects: list[Defect] = []
    usable: dict[str, tuple[Canonical, CompiledModel]] = {}
    for name, text in texts:
        try:
            canonical = Canonical.of(document_of(text, name))
            model = models.compiled(canonical, MOST_HYPOTHESES)
        except DocumentError as error:
            defects += error.defects
            continue
        except GraphTooLarge as error:
            path = tuple(error.pointer.split("/")[1:])
            defects.append(Defect(error.code, path, error.detail, error.expected or "a smaller graph", None, name))
            continue
        identity = model.equipment.id
        if identity in usable:
            defects.append(Defect("name-twice", ("equipment", "id"), repr(identity), "one file a family", None, name))
        usable[identity] = canonical, model
    if defects:
        raise EquipmentNotUsable(defects)
    return Registry(
        Stocked(GraphStamp(name, store.revision_of(name, canonical), canonical.digest), model, canonical)
        for name, (canonical, model) in usable.items()
    )
