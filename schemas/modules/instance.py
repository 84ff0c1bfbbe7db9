"""One use of a module: what it is told, checked; its entries, named and filled in for the machine."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from graph.errors import Defect, DocumentError, listed, nearest_name
from schemas.modules.filling import Filling, expectation, whole
from schemas.modules.library import Library, Module
from schemas.modules.places import LeftOut, Mention, Path, mentions
from schemas.modules.shapes import NEVER, InstanceShape, ModulePartShape
from schemas.source import Source


@dataclass(frozen=True, slots=True)
class Origin:
    """Where something comes from: its place in the document and the place in the module that asks for it.

    `given` says that the document itself gave it, and so has everything inside it too.
    """

    place: Path
    source: Source | None = None
    inside: Path = ()
    given: bool = False

    def words(self) -> str | None:
        """The place in the module: file, line and pointer."""
        if self.source is None:
            return None
        pointer = "".join(f"/{item}" for item in self.inside)
        return f"{self.source.name}:{self.source.line_of(self.inside)} {pointer}"


class Instance:
    """A module as one machine has it. Raises DocumentError with everything that it was told wrongly.

    `entries` are its entries by section and outside name, `origins` say where each value of them is from, `local` is
    the module's own name of each entry, and `size` the number of values.
    """

    def __init__(self, name: str, shape: InstanceShape, library: Library, defaults: Mapping[str, Any]) -> None:
        self.place: Path = ("modules", name)
        self.shape = shape
        self.module = self._named(library)
        self.entries: dict[str, dict[str, Any]] = {section: {} for section in self.module.sections}
        self._origins: dict[Path, dict[Path, Origin]] = {}
        self.size = 0
        self._places: dict[str, Path] = {}
        self._without = list(shape.without)
        defects = [*self._strangers()]
        values = self._values(defaults, defects)
        if defects:
            raise DocumentError(defects)
        self._filling = Filling(self.module.parameters, values)
        self._left = LeftOut(self.module.sections, self._without, self._never(values))
        self._outside = self._names(name)
        for parameter, value in values.items():
            if self._places[parameter] == self.place and self.module.parameters[parameter].kind == "name":
                values[parameter] = self._outside.get(value, value)
        self.local = {outside: local for local, outside in self._outside.items()}
        self._mentions = {m.path: m for m in mentions(self.module.sections) if m.name in self._outside}
        defects = [*self._unnumbered(), *self._changes_of_nothing()]
        if defects:
            raise DocumentError(defects)
        self._write()

    # -- what it is told

    def _named(self, library: Library) -> Module:
        wanted, path = self.shape.module, (*self.place, "module")
        if wanted not in library.ids:
            raise DocumentError([Defect(
                "unknown-module", path, repr(wanted), f"a module: {listed(library.ids, 30)}",
                nearest_name(wanted, library.ids),
            )])
        try:
            return library.module(wanted)
        except DocumentError as error:
            raise DocumentError(
                replace(d, path=path, source=None, line=None, module=f"{d.source}:{d.line} {d.pointer}")
                for d in error.defects
            ) from None

    def _strangers(self) -> Iterator[Defect]:
        """Names that the module doesn't know."""
        module, shape = self.module, self.shape
        names, parts = list(module.names), list(module.sections["parts"])
        said: tuple[tuple[str, str, Iterable[str], list[str]], ...] = (
            ("parameter", "with", shape.parameters, list(module.parameters)),
            ("part", "parts", shape.parts, parts),
            ("name", "rename", shape.rename, names),
            ("name", "without", shape.without, [*names, *module.modes]),
            ("name", "change", shape.change, [*names, *module.modes]),
        )
        for kind, key, found, valid in said:
            for i, name in enumerate(found):
                if name not in valid:
                    yield Defect(
                        f"unknown-{kind}", (*self.place, key, i if key == "without" else name), repr(name),
                        f"a {kind} of {module.id}: {listed(valid, 40)}", nearest_name(name, valid),
                    )

    def _values(self, defaults: Mapping[str, Any], defects: list[Defect]) -> dict[str, Any]:
        """The value of every parameter: as given, for all modules, as a choice says, or by default."""
        shapes, given = self.module.parameters, self.shape.parameters
        values: dict[str, Any] = {}
        chosen: dict[str, Any] = {}
        for name in sorted(shapes, key=lambda n: shapes[n].kind != "choice"):
            parameter, path = shapes[name], (*self.place, "with", name)
            if name in given:
                value = given[name]
            elif name in defaults:
                value, path = defaults[name], ("module_defaults", name)
            elif name in chosen or parameter.default is not None:
                values[name] = chosen.get(name, parameter.default)
                value, path = None, self.place
            else:
                expected = f"{name!r}: {parameter.title}"
                defects.append(Defect("missing-parameter", (*self.place, "with"), "nothing", expected, module=Origin(
                    self.place, self.module.source, ("parameters", name)).words()))
                continue
            self._places[name] = path
            if value is not None:
                expected_of = expectation(parameter, value)
                if expected_of is not None:
                    defects.append(Defect("wrong-parameter", path, repr(value)[:60], expected_of))
                values[name] = value
            if parameter.kind == "choice" and isinstance(values[name], str):
                choice = parameter.choices.get(values[name])
                if choice is None:
                    valid = list(parameter.choices)
                    defects.append(Defect("wrong-parameter", path, repr(values[name]), f"one of: {listed(valid)}",
                                          nearest_name(values[name], valid)))
                else:
                    chosen |= choice.parameters
                    self._without += choice.without
        filling = Filling(shapes, values)
        for name, value in values.items():
            if self._places[name] == self.place and not defects:
                values[name] = filling.default(value, begins=shapes[name].kind != "words")
        return values

    def _never(self, values: Mapping[str, Any]) -> set[Path]:
        """Rules on something that can't happen in this machine."""
        return {
            ("signals", name, "rules", i)
            for name, entry in self.module.sections["signals"].items()
            for i, rule in enumerate(entry["rules"])
            if isinstance(rule.get("when"), str) and values.get(whole(rule["when"]) or "") == NEVER
        }

    def _names(self, instance: str) -> dict[str, str]:
        """The outside name of every name of the module that is left; of a part, the machine's own where it is meant."""
        meant = {n: p for n, p in self.shape.parts.items() if isinstance(p, str)}
        left = [n for n in self.module.names if n not in self._left.names]
        return {n: meant.get(n) or self.shape.rename.get(n) or f"{instance}_{n}" for n in left}

    def _unnumbered(self) -> Iterator[Defect]:
        for name in self.module.sections["parts"]:
            if name in self._outside and name not in self.shape.parts:
                yield Defect(
                    "missing-part", (*self.place, "parts"), "nothing",
                    f"{name!r}: {{number: …}}, or the name of a part of this document",
                    module=Origin(self.place, self.module.source, ("parts", name)).words(),
                )

    def _changes_of_nothing(self) -> Iterator[Defect]:
        for name in self.shape.change:
            lost = name in self._left.states or name.split(".")[0] not in self._outside
            if lost or isinstance(self.shape.parts.get(name), str):
                path = (*self.place, "change", name)
                yield Defect("unknown-name", path, f"{name!r}, which this machine does without", "a name that is left")

    # -- its entries

    @property
    def origins(self) -> dict[Path, Origin]:
        """Where each value of its entries is from."""
        return {path: origin for origins in self._origins.values() for path, origin in origins.items()}

    def _note(self, path: Path, origin: Origin) -> None:
        self._origins.setdefault(path[:2], {})[path] = origin

    def _write(self) -> None:
        for section, entries in self.module.sections.items():
            for local, entry in entries.items():
                if local in self._outside and not isinstance(self.shape.parts.get(local), str):
                    outside = self._outside[local]
                    self.entries[section][outside] = self._copy(entry, (section, local), (section, outside))
        self._scale()
        for name, part in self.shape.parts.items():
            if isinstance(part, ModulePartShape) and name in self._outside:
                self._replace(name, part.model_dump(exclude_unset=True), (*self.place, "parts", name))
        for name, fields in self.shape.change.items():
            self._replace(name, fields, (*self.place, "change", name))

    def _copy(self, value: Any, inside: Path, path: Path) -> Any:
        """A value of the module in the machine's words."""
        self.size += 1
        self._note(path, Origin(self.place, self.module.source, inside))
        if isinstance(value, dict):
            out: dict[str, Any] = {}
            for key, item in value.items():
                if (*inside, key) in self._left.gone:
                    continue
                name = self._name((*inside, key), "key") or self._filling.text(key, begins=False)
                filled = self._copy(item, (*inside, key), (*path, name))
                if filled in ([], {}) and item:
                    continue  # all that was in it is left out
                out[name] = filled
                if "$" in key:
                    self._told(key, inside, (*path, name))
            return out
        if isinstance(value, list):
            kept = [(i, item) for i, item in enumerate(value) if (*inside, i) not in self._left.gone]
            return [self._copy(item, (*inside, i), (*path, place)) for place, (i, item) in enumerate(kept)]
        if not isinstance(value, str):
            return value
        self._told(value, inside, path)
        return self._name(inside, "value") or self._name(inside, "mode") or self._filling.value(value)

    def _told(self, text: str, inside: Path, path: Path) -> None:
        """Note that what stands here was given as a parameter."""
        parameter = whole(text)
        if parameter is not None:
            place = self._places[parameter]
            self._note(path, Origin(place, self.module.source, inside, place != self.place))
            self.size += _weight(self._filling.value(text))

    def _name(self, inside: Path, how: str) -> str | None:
        """The outside name for the module's name at a place, if there is one."""
        mention: Mention | None = self._mentions.get(inside)
        if mention is None or mention.how != how:
            return None
        outside = self._outside[mention.name]
        if how != "mode":
            return outside
        return f"{outside}.{self._mode_at(inside)}"

    def _mode_at(self, inside: Path) -> str:
        here: Any = self.module.sections
        for item in inside:
            here = here[item]
        return str(here).split(".", 1)[1]

    def _scale(self) -> None:
        """Bring the failure modes to the calls that were given for all of them."""
        modes = [m for c in self.entries["components"].values() for m in c["failure_modes"].values()]
        total = sum(mode["calls_per_thousand"] for mode in modes)
        wanted = self.shape.calls_per_thousand
        if wanted is not None and total:
            for mode in modes:
                mode["calls_per_thousand"] = float(f"{mode['calls_per_thousand'] * wanted / total:.4g}")

    def _replace(self, name: str, fields: Mapping[str, Any], place: Path) -> None:
        """Replace fields of an entry or a failure mode by the document's own."""
        local, _, mode = name.partition(".")
        section = self.module.names[local]
        path: Path = (section, self._outside[local])
        entry = self.entries[section][self._outside[local]]
        if mode:
            path, entry = (*path, "failure_modes", mode), entry["failure_modes"][mode]
        for key, value in fields.items():
            origins = self._origins[path[:2]]
            for inner in [p for p in origins if p[: len(path) + 1] == (*path, key)]:
                del origins[inner]
            entry[key] = value
            self._note((*path, key), Origin((*place, key), self.module.source, (section, local), True))
            self.size += _weight(value)


def _weight(value: Any) -> int:
    """How many values a value holds."""
    if isinstance(value, dict):
        return 1 + sum(map(_weight, value.values()))
    return 1 + sum(map(_weight, value)) if isinstance(value, list) else 1
