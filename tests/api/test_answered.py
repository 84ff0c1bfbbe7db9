from __future__ import annotations

from dataclasses import replace

import pytest
from fastapi.testclient import TestClient
from hypothesis import given
from hypothesis import strategies as st

from api.answered import Answered
from schemas.answers import GraphStamp
from tests.api.conftest import COLD

GRAPH = GraphStamp("urn", 1, "a")


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 900)), max_size=60))
def test_what_is_kept_stays_within_its_bound_and_true(kept: list[tuple[int, int]]) -> None:
    answers, newest = Answered(3_000), {}
    for name, length in kept:
        key = Answered.key(GRAPH, str(name).encode())
        answers.keep(key, bytes(length))
        newest[key] = bytes(length)
        assert answers.get(key) == bytes(length)
    held = {key: answers.get(key) for key in newest}
    assert all(answer in (None, newest[key]) for key, answer in held.items())
    assert sum(len(a) for a in held.values() if a is not None) <= 3_000


def test_the_same_question_about_another_graph_is_another_question() -> None:
    other = [replace(GRAPH, digest="b"), replace(GRAPH, revision=2), replace(GRAPH, overlay=1)]
    assert len({Answered.key(graph, b"q") for graph in (GRAPH, *other)}) == 4
    assert Answered.key(GRAPH, b"q") != Answered.key(GRAPH, b"r")


def test_what_was_asked_for_last_stays_longest() -> None:
    answers = Answered(1_000)
    first, second, third = (Answered.key(GRAPH, name) for name in (b"1", b"2", b"3"))
    answers.keep(first, bytes(200))
    answers.keep(second, bytes(200))
    answers.get(first)
    answers.keep(third, bytes(200))
    assert answers.get(second) is None and answers.get(first) == bytes(200)


def test_an_answer_larger_than_everything_is_not_kept() -> None:
    answers = Answered(100)
    answers.keep(b"k", bytes(500))
    assert answers.get(b"k") is None


def test_the_second_caller_gets_the_same_bytes_without_the_work(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = {"equipment": "toy-urn", "findings": [COLD]}
    first = client.post("/v1/advice", json=asked)
    monkeypatch.setattr("api.routes.advice.question", lambda *_: pytest.fail("worked out again"))
    again = client.post("/v1/advice", json=asked)
    assert (again.status_code, again.content, again.headers["graph-digest"]) == (
        200, first.content, first.headers["graph-digest"])
