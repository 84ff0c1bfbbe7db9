"""What Halfsplit answers in a conversation: a question, or how it goes on. Money is in the equipment's currency."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar, Literal

from graph.records import DOCUMENTED
from graph.words.dangers import Danger

Audience = Literal["site_contact", "dispatcher"]


@dataclass(frozen=True)
class AnswerChoice:
    """An answer that may be given; `could_not_tell` is always among them."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    outcome: str
    """To be recorded as the finding's outcome."""
    title: str
    chance: float
    then: str
    """What would be done on this answer, in words for the audience: only a dispatcher is told which parts go along."""


@dataclass(frozen=True)
class Question:
    """What to ask next."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    about: str
    kind: Literal["symptom", "test"]
    text: str
    """In plain words, for the audience."""
    look: tuple[str, ...]
    """How to look safely, step by step; empty where nothing needs to be looked at."""
    why: str
    answers: tuple[AnswerChoice, ...]
    minutes: float
    worth: float
    """Money that the answer saves on average: trips and carrying, what asking costs taken off."""


@dataclass(frozen=True)
class SelfHelp:
    """A safe remedy for the site contact."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    remedy: str
    title: str
    offer: str
    """What to say first: that there is something to try, or one more thing."""
    how: tuple[str, ...]
    check: tuple[str, ...]
    """How to know that it worked, in sentences."""
    question: str
    """What to ask when it was done: a yes is to be recorded as `runs`, a no as `still_faulty`."""
    chance: float
    """That it puts the machine right."""
    minutes: float


@dataclass(frozen=True)
class Dispatch:
    """Who is sent with what."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    parts: Mapping[str, int]
    """The whole kit by part id."""
    price: float
    chance_to_finish: float
    licences: Mapping[str, float]
    """Licence: the chance that the repair needs it."""
    sentence: str


@dataclass(frozen=True)
class Conclusion:
    """How the conversation ends."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    kind: Literal["self_help", "technician", "make_safe"]
    sentence: str
    """In words for the audience: a caller is not told of parts and prices."""
    self_help: SelfHelp | None
    """What to try now, for `self_help`; record it as a finding (`runs` or `still_faulty`) and ask again."""
    dispatch: Dispatch | None
    """Who is sent, for `technician`, and who would be if self-help fails; null for `make_safe`."""
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class Turn:
    """The next thing to say: exactly one of `question` and `conclusion`."""

    __pydantic_config__: ClassVar[dict[str, object]] = DOCUMENTED

    dangers: tuple[Danger, ...]
    """With any, the conclusion is to make safe and nothing is asked."""
    question: Question | None
    conclusion: Conclusion | None
    asked: int
    """Questions that were answered or passed over so far."""
    cost: float
    """Money that the call is expected to cost from here if nothing more is asked; 0 where it is not weighed."""
