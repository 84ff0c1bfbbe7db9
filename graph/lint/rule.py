"""What a rule is, and what it says."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from graph.errors import PathItem
from graph.lint.subject import Subject

Path = tuple[PathItem, ...]


class Remark(NamedTuple):
    """One thing that a rule found: its place in the document, what is there, and what would mend it."""

    path: Path
    found: str
    mend: str


@dataclass(frozen=True, slots=True)
class LintRule:
    """One rule: a stable `code`, what it reports (`says`) and `why` that matters, and how it looks.

    `wrong` and `right` are merge patches (RFC 7396), in YAML, to the small document that the rules' examples share:
    the first makes a document that the rule reports, the second one that no rule reports.
    """

    code: str
    says: str
    why: str
    wrong: str
    right: str
    look: Callable[[Subject], Iterator[Remark]]
