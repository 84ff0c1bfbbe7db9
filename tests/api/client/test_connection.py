from __future__ import annotations

from collections.abc import Callable

import httpx
import pytest

from api.client import Refused, Unreachable
from api.client.connection import LONGEST_WAIT, Connection

Answer = httpx.Response | Exception


def connected(*answers: Answer, key: str | None = None) -> tuple[Connection, list[httpx.Request], list[float]]:
    """A connection to a service that answers so, what it was asked, and the pauses in between."""
    asked: list[httpx.Request] = []
    pauses: list[float] = []
    remaining = iter(answers)

    def answer(request: httpx.Request) -> httpx.Response:
        asked.append(request)
        given = next(remaining)
        if isinstance(given, Exception):
            raise given
        return given

    transport = httpx.MockTransport(answer)
    return Connection("http://service", key, transport=transport, wait=pauses.append), asked, pauses


def problem(status: int, code: str, **more: object) -> httpx.Response:
    return httpx.Response(status, json={"type": f"/problems/{code}", "title": "T", "detail": "D", "errors": [], **more})


def test_the_key_goes_along_and_a_body_is_json() -> None:
    connection, asked, _ = connected(httpx.Response(200, json={}), key="hs_1")
    connection.request("POST", "/v1/advice", {"a": 1}, query={"x": None, "y": 2})
    assert asked[0].headers["authorization"] == "Bearer hs_1"
    assert (asked[0].url.path, asked[0].url.query, asked[0].content) == ("/v1/advice", b"y=2", b'{"a":1}')


def test_a_broken_connection_is_asked_again_with_the_same_key_of_repeats() -> None:
    connection, asked, pauses = connected(
        httpx.ConnectError("no"), problem(503, "not-ready"), httpx.Response(201, json={}))
    assert connection.request("POST", "/v1/cases", {}).status_code == 201
    assert len({request.headers["idempotency-key"] for request in asked}) == 1 and len(pauses) == 2


def test_two_requests_have_two_keys_of_repeats_and_a_read_has_none() -> None:
    connection, asked, _ = connected(*[httpx.Response(200, json={})] * 3)
    connection.request("POST", "/a", {})
    connection.request("POST", "/a", {})
    connection.request("GET", "/a")
    assert asked[0].headers["idempotency-key"] != asked[1].headers["idempotency-key"]
    assert "idempotency-key" not in asked[2].headers


@pytest.mark.parametrize(("given", "waited"), [("7", 7.0), ("100000", LONGEST_WAIT), ("Tue", 0.1)])
def test_the_service_says_how_long_to_wait(given: str, waited: float) -> None:
    busy = problem(429, "too-many-requests")
    busy.headers["retry-after"] = given
    connection, _, pauses = connected(busy, httpx.Response(200, json={}))
    connection.request("GET", "/a")
    assert pauses == [waited]


@pytest.mark.parametrize("status", [400, 401, 403, 404, 409, 412, 422, 500])
def test_a_refusal_is_not_asked_again(status: int) -> None:
    item = {"pointer": "/found/0", "detail": "no such mode", "nearest": "a.b"}
    connection, asked, _ = connected(problem(status, "unknown-name", errors=[item]))
    with pytest.raises(Refused, match=r"T: D\n/found/0: no such mode; did you mean 'a.b'\?") as caught:
        connection.request("GET", "/a")
    assert (caught.value.status, caught.value.code, len(asked)) == (status, "unknown-name", 1)


@pytest.mark.parametrize(("last", "raised"), [(lambda: httpx.ReadTimeout("slow"), Unreachable),
                                              (lambda: problem(503, "not-ready"), Refused)])
def test_at_last_it_gives_up(last: Callable[[], Answer], raised: type[Exception]) -> None:
    connection, asked, _ = connected(*[last() for _ in range(4)])
    with pytest.raises(raised):
        connection.request("GET", "/a")
    assert len(asked) == 4


def test_an_answer_that_is_no_problem_is_still_told() -> None:
    connection, _, _ = connected(httpx.Response(502, text="<html>bad gateway"))
    with pytest.raises(Refused, match="Bad Gateway: <html>bad gateway"):
        connection.request("GET", "/a")
