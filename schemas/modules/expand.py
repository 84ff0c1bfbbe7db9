"""A document that uses modules, written out in full, with the origin of everything that came from one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from graph.errors import Defect, DocumentError, listed, nearest_name
from schemas.modules.instance import Instance, Origin
from schemas.modules.library import Library
from schemas.modules.places import SECTIONS, Path
from schemas.modules.shapes import InstanceShape
from schemas.source import MOST_DEFECTS, MOST_VALUES


@dataclass(slots=True)
class Written:
    """A document in full, and the origins of what came from modules, by path."""

    data: dict[str, Any]
    origins: dict[Path, Origin] = field(default_factory=dict)

    def traced(self, defect: Defect) -> Defect:
        """A defect of the full document as one of the document that was given, with its place in the module."""
        for length in range(len(defect.path), 0, -1):
            origin = self.origins.get(defect.path[:length])
            if origin is not None:
                place = (*origin.place, *defect.path[length:]) if origin.given else origin.place
                return replace(defect, path=place, module=origin.words())
        return defect


def expand(
    data: Mapping[str, Any], instances: Mapping[str, InstanceShape], defaults: Mapping[str, Any], library: Library
) -> Written:
    """Write a document out in full.

    Parameters
    ----------
    data
        The document, as it was parsed.
    instances, defaults
        Its `modules` and `module_defaults`, of a shape already checked.
    library
        The modules that can be named.

    Raises
    ------
    DocumentError
        With every defect in the use of modules, by their paths in the document, without lines.
    """
    own = {k: v for k, v in data.items() if k not in ("modules", "module_defaults")}
    written = Written({**own, **{s: dict(own.get(s) or {}) for s in SECTIONS}})
    defects: list[Defect] = []
    taken: set[str] = set()
    size = 0
    for name, shape in instances.items():
        try:
            instance = Instance(name, shape, library, defaults)
            size += instance.size
            if size > MOST_VALUES:
                raise DocumentError([Defect("too-large", ("modules", name), "more values", f"at most {MOST_VALUES:,}")])
            defects += _put(instance, written)
            taken |= set(instance.module.parameters)
        except DocumentError as error:
            defects += error.defects
    for parameter in defaults:
        if not defects and parameter not in taken:
            expected = f"a parameter of a module in use: {listed(sorted(taken), 40)}"
            defects.append(Defect("unknown-parameter", ("module_defaults", parameter), repr(parameter), expected,
                                  nearest_name(parameter, taken)))
    if defects:
        raise DocumentError(defects[:MOST_DEFECTS])
    _bring(written.data, library)
    return written


def _put(instance: Instance, written: Written) -> list[Defect]:
    """Put an instance's entries among the document's; what has the name of another is a defect."""
    clashes = []
    origins = instance.origins
    for section, entries in instance.entries.items():
        into = written.data[section]
        for name, entry in entries.items():
            if name in into:
                local = instance.local[name]
                clashes.append(Defect(
                    "name-twice", instance.place, f"{name!r} also in {section}",
                    f"another name, by `rename: {{{local}: …}}`; or `change`, to replace its fields", None,
                    module=origins[section, name].words(),
                ))
            into.setdefault(name, entry)
    written.origins.update(origins)
    return clashes


def _bring(data: dict[str, Any], library: Library) -> None:
    """Add the shared hazards and instruments that work names and the document does not describe."""
    jobs = [job for kind in ("tests", "remedies") for job in data[kind].values() if isinstance(job, dict)]
    for section, known in (("hazards", library.trade.hazards), ("instruments", library.trade.instruments)):
        named = {name for job in jobs for name in job.get(section) or () if isinstance(name, str)}
        own = data.get(section) or {}
        data[section] = {**own, **{n: v for n, v in known.items() if n in named and n not in own}}
