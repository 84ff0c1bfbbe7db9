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
from schemas.modules.expand import Written, expand
from schemas.modules.library import Library, shipped
from schemas.source import MOST_DEFECTS, Source, parse


def load_text(text: str | bytes, name: str = "document", library: Library | None = None) -> Equipment:
    """Read a YAML or JSON graph document. Raises DocumentError with every defect, each with its line."""
    return equipment_of(document_of(text, name, library))


def load_data(data: Any, library: Library | None = None) -> Equipment:
    """Read a graph document that is already plain data. Raises DocumentError with every defect."""
    return equipment_of(_checked(data, Source("document"), library))


def document_of(text: str | bytes, name: str = "document", library: Library | None = None) -> Document:
    """The document of a text, checked, its modules written out. Raises DocumentError as `load_text` does."""
    source = parse(text, name)
    return _checked(source.data, source, library)


def written_out(document: Document, library: Library | None = None) -> Document:
    """The same document without modules: what they stand for is in it. Raises DocumentError."""
    return _checked(document, Source("document"), library)


def _checked(data: Any, source: Source, library: Library | None) -> Document:
    """A sound document without modules. `library` is where its modules are looked up: the shipped ones, usually."""
    document = _shaped(data, source, None)
    written = None
    if document.modules or document.module_defaults:
        given = document.model_dump(mode="json", by_alias=True, exclude_unset=True) if data is document else data
        try:
            written = expand(given, document.modules, document.module_defaults, library or shipped())
        except DocumentError as error:
            raise _located(error.defects, source, None) from None
        document = _shaped(written.data, source, written)
    found = references.defects(document)
    if found:
        raise _located(found, source, written)
    return document


def _shaped(data: Any, source: Source, written: Written | None) -> Document:
    try:
        return Document.model_validate(data)
    except ValidationError as error:
        details = islice(error.errors(include_url=False), MOST_DEFECTS)
        raise _located([defect_of(d, data, Document) for d in details], source, written) from None


def _located(found: Iterable[Defect], source: Source, written: Written | None) -> DocumentError:
    """Defects of a document in full as those of the document that was given, with its lines."""
    traced = [written.traced(d) if written else d for d in found]
    return DocumentError(source.locate(d) if source.lines else d for d in traced)
