"""Answers that were worked out before: the same question about the same graph has the same answer, to the byte.

An answer depends on nothing but the graph and the request, so the bytes can be kept. Callers ask alike more often
than not: a phone desk's first questions about a machine are a few hundred, asked all day.
"""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from threading import Lock

from schemas.answers import GraphStamp

_OVERHEAD = 200
"""Bytes that keeping an answer takes besides its own, about."""


class Answered:
    """The answers last given, at most `most_bytes` of them together. Safe to share between threads."""

    def __init__(self, most_bytes: int) -> None:
        self._most, self._held = most_bytes, 0
        self._answers: OrderedDict[bytes, bytes] = OrderedDict()
        self._lock = Lock()

    @staticmethod
    def key(graph: GraphStamp, question: bytes) -> bytes:
        """The key of a question, as its bytes came in, about a graph."""
        what = f"{graph.digest} {graph.revision} {graph.overlay}\n"
        return hashlib.sha256(what.encode() + question).digest()

    def get(self, key: bytes) -> bytes | None:
        """The answer, where it is kept."""
        with self._lock:
            answer = self._answers.get(key)
            if answer is not None:
                self._answers.move_to_end(key)
            return answer

    def keep(self, key: bytes, answer: bytes) -> None:
        """Keep an answer; those not asked for longest make room."""
        with self._lock:
            before = self._answers.pop(key, None)
            self._held += len(answer) + _OVERHEAD - (0 if before is None else len(before) + _OVERHEAD)
            self._answers[key] = answer
            while self._held > self._most:
                _, dropped = self._answers.popitem(last=False)
                self._held -= len(dropped) + _OVERHEAD
