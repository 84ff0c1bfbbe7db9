"""What callers send in words: a message, to be matched with symptoms and machines."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from schemas.requests import Words
from schemas.text import NO_CONTROL, EquipmentName, Given, Integral, Shape

Message = Annotated[
    str, Field(min_length=1, max_length=2000, pattern=NO_CONTROL, description="what was said, in the caller's "
        "own words")
]


class SymptomMatchRequest(Shape):
    """A caller's words, and the machine if it is known."""

    words: Message
    equipment: Annotated[
        EquipmentName | None, Field(description="only the symptoms of this machine; null: of all machines")
    ] = None
    most: Annotated[int, Field(ge=1, le=5, description="symptoms for each thing that was said"), Integral] = 3


class EquipmentMatchQuery(Given):
    """What a machine was called."""

    words: Annotated[Words, Field(description="model, maker or nickname, as it was typed")]
