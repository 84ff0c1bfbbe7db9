"""The modules that can be named: read once from where they are shipped, and sound in themselves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from importlib.resources import files
from typing import Any

from pydantic import ValidationError

from graph.errors import Defect, DocumentError, listed, nearest_name
from schemas.defects import defect_of
from schemas.modules.filling import spoken
from schemas.modules.places import SECTIONS, Path
from schemas.modules.shapes import ModuleShape, ParameterShape, TradeShape
from schemas.source import Source, parse

TRADE = "trade"
"""The file of what all modules share; it is no module."""


@dataclass(frozen=True)
class Module:
    """One module as it is written."""

    id: str
    shape: ModuleShape
    source: Source
    parameters: Mapping[str, ParameterShape]

    @cached_property
    def sections(self) -> dict[str, dict[str, Any]]:
        """Its entries, as they are written."""
        return {section: self.source.data.get(section) or {} for section in SECTIONS}

    @cached_property
    def names(self) -> dict[str, str]:
        """The section of each of its own names."""
        return {name: section for section, entries in self.sections.items() for name in entries}

    @cached_property
    def modes(self) -> list[str]:
        """Its failure modes, as component.mode."""
        return [f"{c}.{m}" for c, entry in self.sections["components"].items() for m in entry["failure_modes"]]


class Library:
    """Modules by id, parsed when they are first asked for. Texts are keyed by id; `trade` holds what is shared."""

    def __init__(self, texts: Mapping[str, bytes]) -> None:
        self._texts = texts
        self.ids = sorted(set(texts) - {TRADE})
        self._read: dict[str, Module] = {}

    @cached_property
    def trade(self) -> TradeShape:
        """Parameters, hazards and instruments that all modules share."""
        source = parse(self._texts[TRADE], f"{TRADE}.yaml")
        return TradeShape.model_validate(source.data)

    def module(self, identity: str) -> Module:
        """A module by its id. Raises DocumentError with every defect of its text; KeyError where there is none."""
        if identity not in self._read:
            self._read[identity] = self._sound(identity)
        return self._read[identity]

    def _sound(self, identity: str) -> Module:
        if identity not in self.ids:
            raise KeyError(identity)
        source = parse(self._texts[identity], f"{identity}.yaml")
        if isinstance(source.data, dict) and "modules" in source.data:
            defect = Defect("modules-nested", ("modules",), "a module of modules", "a module without `modules`")
            raise DocumentError([source.locate(defect)])
        try:
            shape = ModuleShape.model_validate(source.data)
        except ValidationError as error:
            found = [defect_of(d, source.data, ModuleShape) for d in error.errors(include_url=False)]
            raise DocumentError(source.locate(d) for d in found) from None
        shared = {n: p for n, p in self.trade.parameters.items() if n not in shape.parameters}
        module = Module(identity, shape, source, {**shape.parameters, **shared})
        defects = list(_defects(module))
        if defects:
            raise DocumentError(source.locate(d) for d in defects)
        return module


def _defects(module: Module) -> Iterator[Defect]:
    """Whether every entry is a map, every own name is told once, and every parameter that is spoken of exists."""
    seen: dict[str, str] = {}
    for section, entries in module.sections.items():
        for name, entry in entries.items():
            if not isinstance(entry, dict):
                yield Defect("wrong-type", (section, name), "no map", "a map")
            if name in seen:
                yield Defect("name-twice", (section, name), f"{name!r} also in {seen[name]}", "a name of its own")
            seen.setdefault(name, section)
        for path, name in _spoken(entries, (section,)):
            if name not in module.parameters:
                yield Defect("unknown-parameter", path, f"${name}", f"one of: {listed(module.parameters, 30)}",
                             nearest_name(name, module.parameters))


def _spoken(value: Any, path: Path) -> Iterator[tuple[Path, str]]:
    """The parameters that a value speaks of, each with its place."""
    items: Iterable[tuple[Any, Any]] = ()
    if isinstance(value, str):
        yield from ((path, name) for name in spoken(value))
    elif isinstance(value, dict):
        items = value.items()
    elif isinstance(value, list):
        items = enumerate(value)
    for key, item in items:
        if isinstance(key, str):
            yield from (((*path, key), name) for name in spoken(key))
        yield from _spoken(item, (*path, key))


@cache
def shipped() -> Library:
    """The modules that come with the program."""
    root = files("fixtures") / "modules"
    return Library({e.name.removesuffix(".yaml"): e.read_bytes() for e in root.iterdir() if e.name.endswith(".yaml")})
