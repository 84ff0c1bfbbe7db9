"""A tenant's own figures laid over a graph that others keep: rates and part prices."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Annotated, Any

from pydantic import Field

from graph.errors import UnknownName
from schemas.document import Document
from schemas.text import ModeName, Money, Name, Shape

Rate = Annotated[float, Field(gt=0, le=1000)]


class OverlayGiven(Shape):
    """The figures that differ from the document's. An empty overlay changes nothing."""

    calls_per_thousand: Annotated[
        dict[ModeName, Rate], Field(max_length=2000, description="failure mode: how often, among a thousand calls")
    ] = {}
    prices: Annotated[
        dict[Name, Money], Field(max_length=2000, description="part: its price in the machine's currency")
    ] = {}


Names = Iterator[tuple[str, str, str, Collection[str]]]


def _names(given: OverlayGiven, document: Mapping[str, Any]) -> Names:
    """Kind, field, name and the names that the document has, for everything given."""
    modes, parts = _modes(document), document.get("parts", {})
    for name in given.calls_per_thousand:
        yield "failure mode", "calls_per_thousand", name, modes
    for name in given.prices:
        yield "part", "prices", name, parts


def check(given: OverlayGiven, document: Mapping[str, Any]) -> None:
    """Raise UnknownName for the first name that the document doesn't have."""
    for kind, field, name, valid in _names(given, document):
        if name not in valid:
            raise UnknownName(kind, name, valid, pointer=f"/{field}/{name}")


def missing(given: OverlayGiven, document: Mapping[str, Any]) -> tuple[str, ...]:
    """The names that the document doesn't have."""
    return tuple(name for _, _, name, valid in _names(given, document) if name not in valid)


def laid_over(document: dict[str, Any], given: OverlayGiven) -> Document:
    """The document with these figures in it; names that it no longer has are passed over.

    `document` is plain data, and is changed.
    """
    modes = _modes(document)
    for name, rate in given.calls_per_thousand.items():
        if name in modes:
            modes[name]["calls_per_thousand"] = rate
    for name, price in given.prices.items():
        if name in document.get("parts", {}):
            document["parts"][name]["price"] = price
    return Document.model_validate(document)


def _modes(document: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    return {
        f"{component}.{mode}": fields
        for component, body in document["components"].items()
        for mode, fields in body.get("failure_modes", {}).items()
    }
