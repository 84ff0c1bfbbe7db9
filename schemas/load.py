"""A graph document in, an `Equipment` out, or every defect at once."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import islice
from typing import Any

from pydantic import ValidationError

from graph.equipment import Equipment
from graph.errors import Defect, DocumentError
from schemas import references
from schemas.build import equipment_of
from schemas.defects import defect_of
from schemas.document import Document
from schemas.modules.expand import expand
from schemas.modules.library import Library, shipped
from schemas.source import MOST_DEFECTS, Source, parse


def load_text(text: str | bytes, name: str = "document", library: Library | None = None) -> Equipment:
    """Read a YAML or JSON graph document. Raises DocumentError with every defect, each with its line."""
    return load_source(parse(text, name), library)


def load_data(data: Any, library: Library | None = None) -> Equipment:
    """Read a graph document that is already plain data. Raises DocumentError with every defect."""
    return load_source(Source("document", data), library)


def load_source(source: Source, library: Library | None = None) -> Equipment:
    """Read a graph document that was parsed; `source.locate` then finds what was written out. Raises DocumentError."""
    return equipment_of(_checked(source, library))


def document_of(text: str | bytes, name: str = "document", library: Library | None = None) -> Document:
    """The document of a text, checked, its modules written out. Raises DocumentError as `load_text` does."""
    return _checked(parse(text, name), library)


def written_out(document: Document, library: Library | None = None) -> Document:
    """The same document without modules: what they stand for is in it. Raises DocumentError."""
    return _checked(Source("document", document), library)


def _checked(source: Source, library: Library | None) -> Document:
    """A sound document without modules. `library` is where its modules are looked up: the shipped ones, usually."""
    document = _shaped(source.data, source)
    if document.modules or document.module_defaults:
        given = source.data
        if given is document:
            given = document.model_dump(mode="json", by_alias=True, exclude_unset=True)
        try:
            written = expand(given, document.modules, document.module_defaults, library or shipped())
        except DocumentError as error:
            raise _located(error.defects, source) from None
        source.trace = written.traced
        document = _shaped(written.data, source)
    found = references.defects(document)
    if found:
        raise _located(found, source)
    return document


def _shaped(data: Any, source: Source) -> Document:
    try:
        return Document.model_validate(data)
    except ValidationError as error:
        details = islice(error.errors(include_url=False), MOST_DEFECTS)
        raise _located([defect_of(d, data, Document) for d in details], source) from None


def _located(found: Iterable[Defect], source: Source) -> DocumentError:
    return DocumentError(source.locate(d) for d in found)
