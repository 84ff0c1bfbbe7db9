"""How a module is written, and how a document asks for one."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

from schemas.text import Integral, Name, Prose, Shape, Title

Kind = Literal["words", "text", "number", "name", "when", "map", "list", "choice"]
"""What a parameter takes; `words` name a thing within a sentence and get a capital where they begin one."""
NEVER = "never"
"""The default of a `when` that need not be given: its rules are left out."""
ModuleName = Annotated[
    str, Field(pattern=r"^[a-z][a-z0-9-]{0,63}$", description="a shipped module, e.g. level-switch; never a path")
]
Dotted = Annotated[
    str,
    Field(
        pattern=r"^[a-z][a-z0-9_]{0,63}(\.[a-z][a-z0-9_]{0,63})?$", description="name in the module, or component.mode"
    ),
]
Fields = Annotated[dict[Name, Any], Field(min_length=1, max_length=50)]


class ModulePartShape(Shape):
    """What a machine says of a part of a module."""

    number: Title
    title: Title | None = None
    price: Annotated[float, Field(ge=0, le=1_000_000, allow_inf_nan=False)] | None = None
    volume_litres: Annotated[float, Field(gt=0, le=1_000_000, allow_inf_nan=False)] | None = None
    weight_kg: Annotated[float, Field(gt=0, le=1_000_000, allow_inf_nan=False)] | None = None


def _written_as(value: object) -> str:
    return "name" if isinstance(value, str) else "full"


ModulePart = Annotated[
    Annotated[Name, Tag("name")] | Annotated[ModulePartShape, Tag("full")], Discriminator(_written_as)
]
"""What is said of a part, or the name of the machine's own part that is meant instead."""


class InstanceShape(Shape):
    """One use of a module: its entries come into the document as `<instance>_<name>`."""

    module: ModuleName
    parameters: Annotated[
        dict[Name, Any], Field(alias="with", max_length=100, description="the module's parameters")
    ] = {}
    calls_per_thousand: Annotated[
        float | None,
        Field(gt=0, le=1000, allow_inf_nan=False, description="of all its failure modes; their proportions are kept"),
    ] = None
    parts: Annotated[
        dict[Name, ModulePart],
        Field(max_length=100, description="part of the module: its number and price, or the machine's own part"),
    ] = {}
    rename: Annotated[
        dict[Name, Name], Field(max_length=500, description="name in the module: name in this document")
    ] = {}
    without: Annotated[list[Dotted], Field(max_length=500, description="what this machine does not have")] = []
    change: Annotated[
        dict[Dotted, Fields],
        Field(max_length=500, description="name in the module, or component.mode: fields to replace"),
    ] = {}


class ChoiceShape(Shape):
    """One of a few builds: what it sets, and what it does without."""

    title: Title
    parameters: Annotated[dict[Name, Any], Field(alias="with")] = {}
    without: list[Dotted] = []


class ParameterShape(Shape):
    """Something a module wants to be told."""

    title: Title
    kind: Kind
    default: Annotated[Any, Field(description="without one it has to be given; may speak of `$another`")] = None
    choices: Annotated[dict[Name, ChoiceShape], Field(description="for the kind `choice`")] = {}


class ModuleShape(Shape):
    """A module: parameters, and entries of a graph document that may speak of them as `$parameter`."""

    format: Annotated[Literal[1], Integral]
    title: Title
    summary: Prose = ""
    parameters: dict[Name, ParameterShape] = {}
    components: dict[Name, Any] = {}
    signals: dict[Name, Any] = {}
    tests: dict[Name, Any] = {}
    remedies: dict[Name, Any] = {}
    parts: dict[Name, Any] = {}


class TradeShape(Shape):
    """What all modules share: parameters, and the hazards and instruments that their work may name."""

    format: Annotated[Literal[1], Integral]
    parameters: dict[Name, ParameterShape]
    hazards: dict[Name, Any]
    instruments: dict[Name, Title]
