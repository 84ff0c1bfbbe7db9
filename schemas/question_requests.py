"""What callers send in a conversation: what is known so far, or a free answer to a question."""

from __future__ import annotations

from typing import Annotated

from pydantic import Discriminator, Field, Tag

from graph.conversation.answers import Audience
from graph.conversation.asking import MOST_ASKED
from schemas.document import Document
from schemas.requests import AskerGiven, Context, Findings, graph_kind
from schemas.text import EquipmentName, Given, Integral, Name, Prose, Shape
from schemas.word_requests import Message


class QuestionWanted(Given):
    """Who is asked, and how often."""

    audience: Annotated[Audience, Field(description="somebody at the machine, or a dispatcher who asks the caller")] = (
        "site_contact"
    )
    most: Annotated[int, Field(ge=0, le=20, description="questions after which nothing more is asked"), Integral] = (
        MOST_ASKED
    )


class CaseQuestionRequest(Shape, QuestionWanted):
    """The next question of a case."""

    said: Annotated[Prose, Field(description="what was said last; a danger in it ends the questions")] = ""


class _NextQuestion(Context, CaseQuestionRequest):
    """What is known of a call, and who would be sent."""

    asker: Annotated[AskerGiven, Field(
        description="who would be sent; a site contact stands for somebody who holds every licence"
    )] = AskerGiven(role="site_contact")
    findings: Findings = []


class QuestionForEquipment(_NextQuestion):
    """The next question about a machine that the service knows."""

    equipment: EquipmentName


class QuestionForDocument(_NextQuestion):
    """The next question about a machine whose graph comes with the request."""

    document: Document


QuestionRequest = Annotated[
    Annotated[QuestionForEquipment, Tag("(equipment)")] | Annotated[QuestionForDocument, Tag("(document)")],
    Discriminator(graph_kind),
]
"""Exactly one of `equipment` and `document`."""


class AnswerMatchRequest(Shape):
    """A free answer to a question that was asked."""

    equipment: EquipmentName
    about: Annotated[Name, Field(description="the symptom or test that was asked about")]
    words: Message
