"""What the service answers about the revisions of a graph and the figures laid over it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from schemas.answers import Digest, Moment
from schemas.text import Given, Prose


class PublishQuery(Given):
    """How to publish."""

    dry_run: Annotated[bool, Field(description="check everything, store nothing")] = False
    note: Annotated[Prose, Field(description="what is new, for people")] = ""


class RevisionsQuery(Given):
    """Which revisions to list."""

    cursor: Annotated[int | None, Field(ge=1, le=1_000_000, description="`next` of the page before")] = None
    limit: Annotated[int, Field(ge=1, le=200, description="revisions a page")] = 50


@dataclass(frozen=True, slots=True)
class RevisionLine:
    """One revision of a graph document. It never changes; cases keep to theirs."""

    equipment: str
    revision: int
    digest: Digest
    note: str
    created: Moment


@dataclass(frozen=True, slots=True)
class RevisionPage:
    """Revisions, newest first; `next` is the cursor of the following page, null on the last."""

    revisions: tuple[RevisionLine, ...]
    next: int | None


@dataclass(frozen=True, slots=True)
class PublishAnswer:
    """What was published, or would be with `dry_run`. `counts` says how many of everything the graph holds."""

    published: bool
    revision: RevisionLine
    counts: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class OverlayAnswer:
    """A tenant's own figures. `number` counts how often they were set; 0 means never."""

    equipment: str
    number: int
    calls_per_thousand: Mapping[str, float]
    prices: Mapping[str, float]
    unused: Annotated[tuple[str, ...], Field(description="names that the newest revision no longer has")]
