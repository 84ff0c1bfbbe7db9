"""What the service answers about a caller's words, around the core's own records."""

from __future__ import annotations

from dataclasses import dataclass

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
