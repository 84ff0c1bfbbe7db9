"""Compiled graphs by the digest of their document, those last used kept in memory."""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from threading import Lock
from typing import Any

import numpy as np
import orjson

from graph.compile import CompiledModel, compile_model
from graph.equipment import Equipment
from schemas.document import Document
from schemas.load import load_data

_TEXT_TO_RECORDS = 12
"""Bytes that the records of a document take in memory for each of its text; measured on the ice maker."""


@dataclass(frozen=True, slots=True)
class Canonical:
    """A document as JSON, in the order in which it was written, and its SHA-256.

    What its modules stand for is written out: the digest changes with a module, a pinned case does not.
    Defaults stay unwritten: they belong to the `format` that the document names.
    """

    text: bytes
    digest: str

    @classmethod
    def of(cls, document: Document) -> Canonical:
        """The canonical form of a document. Order is kept: rules, outcomes and ties depend on it."""
        text = orjson.dumps(document.model_dump(mode="json", exclude_unset=True))
        return cls(text, hashlib.sha256(text).hexdigest())

    def document(self) -> Document:
        """The document again."""
        return Document.model_validate_json(self.text)

    def data(self) -> dict[str, Any]:
        """The document as plain data."""
        data: dict[str, Any] = orjson.loads(self.text)
        return data


@dataclass(frozen=True, slots=True)
class Kept:
    """A document and its compiled model; `bytes` is about what they take."""

    canonical: Canonical
    model: CompiledModel
    bytes: int


def compiled(canonical: Canonical, limit: int, equipment: Equipment | None = None) -> Kept:
    """A document of at most `limit` hypotheses, compiled. Raises DocumentError and GraphTooLarge.

    `equipment` is what the document says, where that is known already.
    """
    model = compile_model(equipment or load_data(canonical.document()), limit)
    return Kept(canonical, model, size_of(model) + _TEXT_TO_RECORDS * len(canonical.text))


class Models:
    """The compiled graphs last used, in a bounded room. Safe to share between threads; models are immutable."""

    def __init__(self, most_bytes: int) -> None:
        self._most = most_bytes
        self._kept: OrderedDict[str, Kept] = OrderedDict()
        self._lock = Lock()
        self.bytes = 0

    def kept(self, digest: str) -> Kept | None:
        """The graph of a digest where it is in memory."""
        with self._lock:
            if digest in self._kept:
                self._kept.move_to_end(digest)
            return self._kept.get(digest)

    def compiled(self, canonical: Canonical, limit: int) -> Kept:
        """The graph of a document of at most `limit` hypotheses. Raises DocumentError and GraphTooLarge."""
        found = self.kept(canonical.digest)
        if found is None:
            found = compiled(canonical, limit)
            with self._lock:
                if canonical.digest not in self._kept:
                    self._kept[canonical.digest] = found
                    self.bytes += found.bytes
                while self.bytes > self._most and len(self._kept) > 1:
                    self.bytes -= self._kept.popitem(last=False)[1].bytes
        return found


def size_of(thing: object) -> int:
    """About how many bytes the arrays of a model take, wherever in it they are."""
    if isinstance(thing, np.ndarray):
        return int(thing.nbytes)
    if is_dataclass(thing):
        return sum(size_of(getattr(thing, f.name)) for f in fields(thing))
    if isinstance(thing, Mapping):
        return sum(map(size_of, thing.values()))
    if isinstance(thing, tuple | list):
        return sum(map(size_of, thing))
    if hasattr(thing, "indptr"):  # a sparse matrix
        return sum(size_of(getattr(thing, name, None)) for name in ("data", "indices", "indptr"))
    return 0
