"""Requests and their answers: the key, repeats that can do no harm, problems as exceptions."""

from __future__ import annotations

import time
import uuid
from collections.abc import Callable, Mapping
from typing import Any

import httpx
import orjson

from api.answering import encoded

RETRIED = (429, 503, 507)
"""Statuses after which the same request may succeed a little later."""
LONGEST_WAIT = 30.0


class Refused(Exception):
    """A request that the service did not answer; `problem` is its body (RFC 9457), `code` the kind of problem."""

    def __init__(self, status: int, problem: Mapping[str, Any]) -> None:
        self.status, self.problem = status, problem
        self.code = str(problem.get("type", "")).rsplit("/", 1)[-1]
        said = [f"{problem.get('title', 'refused')}: {problem.get('detail', '')}"]
        for item in problem.get("errors", ()):
            near = f"; did you mean {item['nearest']!r}?" if item.get("nearest") else ""
            said.append(f"{item.get('pointer') or item.get('parameter') or 'request'}: {item['detail']}{near}")
        super().__init__("\n".join(said))


class Unreachable(Exception):
    """No answer came, though it was asked for again."""


class Connection:
    """One service at one address, over connections that are kept open.

    A request that changes something carries an Idempotency-Key of its own, so that asking again after a broken
    connection has one effect. `tries` counts the first one; `wait` sleeps between tries (seconds).
    """

    def __init__(
        self, address: str, key: str | None = None, *, timeout: float = 30.0, tries: int = 4,
        transport: httpx.BaseTransport | None = None, wait: Callable[[float], None] = time.sleep,
    ) -> None:
        headers = {"accept": "application/json"} | ({} if key is None else {"authorization": f"Bearer {key}"})
        self._http = httpx.Client(base_url=address, headers=headers, timeout=timeout, transport=transport)
        self._tries, self._wait = tries, wait

    def close(self) -> None:
        """Let go of the connections."""
        self._http.close()

    def request(
        self, method: str, path: str, body: object = None, *, query: Mapping[str, Any] | None = None,
        headers: Mapping[str, str] | None = None, content: bytes | None = None,
    ) -> httpx.Response:
        """One request, repeated while that can help. Raises Refused, or Unreachable."""
        sent = dict(headers or {})
        if body is not None:
            content, sent["content-type"] = encoded(body), "application/json"
        if method == "POST":
            sent.setdefault("idempotency-key", str(uuid.uuid4()))
        asked = {name: value for name, value in (query or {}).items() if value is not None}
        trouble: Exception = Unreachable("not tried")
        for attempt in range(self._tries):
            pause = min(0.1 * 4**attempt, LONGEST_WAIT)
            try:
                answer = self._http.request(method, path, content=content, params=asked, headers=sent)
            except httpx.TransportError as error:
                trouble = Unreachable(f"{method} {path}: {type(error).__name__}: {error}")
            else:
                if answer.status_code < 400:
                    return answer
                trouble = Refused(answer.status_code, _problem(answer))
                if answer.status_code not in RETRIED:
                    raise trouble
                given = answer.headers.get("retry-after", "")
                pause = min(float(given), LONGEST_WAIT) if given.isdecimal() else pause
            if attempt + 1 < self._tries:
                self._wait(pause)
        raise trouble


def _problem(answer: httpx.Response) -> Mapping[str, Any]:
    try:
        problem = orjson.loads(answer.content)
    except ValueError:
        problem = None
    return problem if isinstance(problem, dict) else {"title": answer.reason_phrase, "detail": answer.text[:200]}
