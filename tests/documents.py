"""Written documents as plain data, in full: their modules written out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from schemas.load import document_of


def in_full(path: Path) -> dict[str, Any]:
    return document_of(path.read_bytes(), path.name).model_dump(mode="json", exclude_unset=True)
