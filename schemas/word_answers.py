"""What the service answers about a caller's words, around the core's own records."""

from __future__ import annotations

from dataclasses import dataclass

from graph.conversation.answers import Turn
from graph.conversation.hearing import HeardAnswer
from graph.words.answers import WordMatches
from graph.words.machines import MachineMatch
from schemas.answers import GraphStamp


@dataclass(frozen=True, slots=True)
class SymptomMatchesAnswer:
    """What a message may mean, and the graphs whose symptoms it was held against."""

    graphs: tuple[GraphStamp, ...]
    heard: WordMatches


@dataclass(frozen=True, slots=True)
class EquipmentMatchesAnswer:
    """The machines that may be meant, likeliest first; empty where nothing is plausible."""

    machines: tuple[MachineMatch, ...]


@dataclass(frozen=True, slots=True)
class QuestionAnswer:
    """The next question, or how the call goes on."""

    graph: GraphStamp
    currency: str
    turn: Turn
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AnswerMatchAnswer:
    """What a free answer means."""

    graph: GraphStamp
    heard: HeardAnswer
