"""Text, names and numbers as they may cross the boundary."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

NO_CONTROL = r"^[^\x00-\x08\x0b\x0c\x0e-\x1f\x7f\u202a-\u202e\u2066-\u2069]*$"
"""Anything but control characters and bidirectional overrides; lone surrogates never parse."""

Name = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]{0,63}$", description="snake_case, up to 64 characters")]
ModeName = Annotated[
    str,
    Field(pattern=r"^[a-z][a-z0-9_]{0,63}\.[a-z][a-z0-9_]{0,63}$", description="component.mode"),
]
EquipmentName = Annotated[str, Field(pattern=r"^[a-z][a-z0-9-]{0,63}$", description="lower case, digits, hyphens")]
Title = Annotated[str, Field(min_length=1, max_length=200, pattern=NO_CONTROL)]
Prose = Annotated[str, Field(max_length=2000, pattern=NO_CONTROL)]


def _whole(value: object) -> object:
    """JSON has one kind of number: 3.0 is the integer 3."""
    return int(value) if isinstance(value, float) and value.is_integer() and abs(value) < 2**53 else value


Integral = BeforeValidator(_whole)
"""Put after the bounds of an integer, so that they stay in the published schema."""
OptionalTitle = Annotated[str, Field(max_length=200, pattern=NO_CONTROL)]
InHundred = Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)]
Minutes = Annotated[float, Field(ge=0, le=10_000, allow_inf_nan=False)]
Money = Annotated[float, Field(ge=0, le=1_000_000, allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0, le=1_000_000, allow_inf_nan=False)]
Currency = Annotated[str, Field(pattern=r"^[A-Z]{3}$", description="ISO 4217 code")]


class Given(BaseModel):
    """Base of everything that comes in, be it text in an address: unknown fields are errors."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Shape(Given):
    """Base of what comes in as a body or a document: nothing is coerced silently.

    What checks it is made when it is first needed.
    """

    model_config = ConfigDict(strict=True, allow_inf_nan=False, defer_build=True)
