"""Several questions in one request, and their answers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field

from schemas.answers import AdviceAnswer
from schemas.problems import Problem
from schemas.text import Shape


class AdviceBatch(Shape):
    """Several questions, each as one-shot advice takes it."""

    items: Annotated[
        list[dict[str, Any]], Field(min_length=1, max_length=50, description="each as the body of POST /v1/advice")
    ]


@dataclass(frozen=True, slots=True)
class BatchItem:
    """The answer to one item: `answer` where `status` is 200, otherwise `problem`."""

    status: int
    answer: AdviceAnswer | None
    problem: Problem | None


@dataclass(frozen=True, slots=True)
class AdviceBatchAnswer:
    """The answers, in the order of the items."""

    items: tuple[BatchItem, ...]
