"""A tenant's own figures laid over a graph that others keep: rates and part prices."""

from __future__ import annotations

from collections.abc import Mapping
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
    prices: Annotated[dict[Name, Money], Field(max_length=2000, description="part: its price in the machine's currency")] = {}


def check(given: OverlayGiven, document: Mapping[str, Any]) -> None:
    """Raise UnknownName for the first name that the document doesn't have."""
    modes, parts = _modes(document), document.get("parts", {})
    for kind, field, names, valid in (
        ("failure mode", "calls_per_thousand", given.calls_per_thousand, modes), ("part", "prices", given.prices, parts),
    ):
        for name in names:
            if name not in valid:
                raise UnknownName(kind, name, valid, pointer=f"/{field}/{name}")


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
