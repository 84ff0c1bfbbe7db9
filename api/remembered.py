"""Graph documents that have been found sound before, remembered by their text and by the program that read them.

Reading YAML and checking every name takes most of a service's start; neither comes out differently the next time. What
is remembered is the canonical document. Whatever is stale, broken or out of reach is as if it were not there.
"""

from __future__ import annotations

import hashlib
import os
from contextlib import suppress
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from secrets import token_hex

from api.models import Canonical

MOST = 64
"""Documents that are remembered; the oldest are forgotten."""
_READERS = (("graph", ".py"), ("schemas", ".py"), ("fixtures", ".yaml"))
"""What decides how a document is read: the program, and the modules that documents are made of."""


class Remembered:
    """Sound documents in a directory, a file each; without one nothing is remembered."""

    def __init__(self, directory: Path | None) -> None:
        self._directory = directory

    def recall(self, text: bytes) -> tuple[str, Canonical] | None:
        """The family that a sound text describes, and its canonical form."""
        if self._directory is None:
            return None
        try:
            kept = self._place(self._directory, text).read_bytes()
            digest, equipment, document = kept.split(b"\n", 2)
        except (OSError, ValueError):
            return None
        whole = hashlib.sha256(document).hexdigest()
        sealed = hashlib.sha256(equipment + b"\n" + document).hexdigest()
        return (equipment.decode(), Canonical(document, whole)) if digest == sealed.encode() else None

    def keep(self, text: bytes, equipment: str, canonical: Canonical) -> None:
        """Remember that a text was sound, which family it describes, and its canonical form."""
        if self._directory is None:
            return
        with suppress(OSError):
            self._directory.mkdir(parents=True, exist_ok=True)
            place = self._place(self._directory, text)
            draft = place.with_suffix(f".{token_hex(4)}")
            kept = equipment.encode() + b"\n" + canonical.text
            draft.write_bytes(hashlib.sha256(kept).hexdigest().encode() + b"\n" + kept)
            draft.replace(place)
            for old in sorted(self._directory.glob("*.document"), key=lambda p: p.stat().st_mtime)[:-MOST]:
                old.unlink(missing_ok=True)

    @staticmethod
    def _place(directory: Path, text: bytes) -> Path:
        return directory / f"{hashlib.sha256(_program() + text).hexdigest()}.document"


@cache
def _program() -> bytes:
    """A digest of everything that decides how a document is read."""
    found = hashlib.sha256()
    for package, suffix in _READERS:
        for entry in _entries(files(package), suffix):
            found.update(entry)
    return found.digest()


def _entries(place: Traversable, suffix: str) -> list[bytes]:
    """Names and texts below a place, in the order of their names. Equipment counts by its own text."""
    found: list[bytes] = []
    for entry in sorted(place.iterdir(), key=lambda e: e.name):
        if entry.is_dir() and entry.name not in ("equipment", "calls", "__pycache__"):
            found += _entries(entry, suffix)
        elif entry.name.endswith(suffix):
            found += [entry.name.encode(), hashlib.sha256(entry.read_bytes()).digest()]
    return found


def usual_directory() -> Path | None:
    """Where a user's programs keep what can be made again; None where nobody has a home."""
    given = os.environ.get("XDG_CACHE_HOME", "")
    if given:
        return Path(given) / "halfsplit"
    try:
        return Path.home() / ".cache" / "halfsplit"
    except RuntimeError:
        return None
