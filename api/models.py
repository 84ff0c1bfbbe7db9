"""Compiled graphs by the digest of their document, a bounded number of them kept in memory."""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from dataclasses import dataclass
from threading import Lock

import orjson

from graph.compile import CompiledModel, compile_model
from schemas.document import Document
from schemas.load import load_data


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


class Models:
    """The compiled graphs last used. Safe to share between threads; models are immutable."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._kept: OrderedDict[str, CompiledModel] = OrderedDict()
        self._lock = Lock()

    def kept(self, digest: str) -> CompiledModel | None:
        """The model of a digest where it is in memory."""
        with self._lock:
            if digest in self._kept:
                self._kept.move_to_end(digest)
            return self._kept.get(digest)

    def compiled(self, canonical: Canonical, limit: int) -> CompiledModel:
        """The model of a document of at most `limit` hypotheses. Raises DocumentError and GraphTooLarge."""
        model = self.kept(canonical.digest)
        if model is None:
            model = compile_model(load_data(canonical.document()), limit)
            with self._lock:
                self._kept[canonical.digest] = model
                while len(self._kept) > self._most:
                    self._kept.popitem(last=False)
        return model
