from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from api.answered import Answered


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 900)), max_size=60))
def test_what_is_kept_stays_within_its_bound_and_true(kept: list[tuple[int, int]]) -> None:
    answers, newest = Answered(3_000), {}
    for name, length in kept:
        key = Answered.key("digest", str(name).encode())
        answers.keep(key, bytes(length))
        newest[key] = bytes(length)
        assert answers.get(key) == bytes(length)
    held = {key: answers.get(key) for key in newest}
    assert all(answer in (None, newest[key]) for key, answer in held.items())
    assert sum(len(a) for a in held.values() if a is not None) <= 3_000


def test_the_same_question_about_another_graph_is_another_question() -> None:
    assert Answered.key("a", b"b") != Answered.key("b", b"b") != Answered.key("b", b"a")


def test_what_was_asked_for_last_stays_longest() -> None:
    answers = Answered(1_000)
    first, second, third = (Answered.key("g", name) for name in (b"1", b"2", b"3"))
    answers.keep(first, bytes(200))
    answers.keep(second, bytes(200))
    answers.get(first)
    answers.keep(third, bytes(200))
    assert answers.get(second) is None and answers.get(first) == bytes(200)


def test_an_answer_larger_than_everything_is_not_kept() -> None:
    answers = Answered(100)
    answers.keep(b"k", bytes(500))
    assert answers.get(b"k") is None
