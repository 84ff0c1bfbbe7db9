"""Several workers behind one PostgreSQL: what one did holds for all of them, at once."""

from __future__ import annotations

import http.client
import os
import signal
import socket
import time
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, closing
from pathlib import Path
from threading import Barrier
from typing import Any, NamedTuple, TypeVar

import orjson
import pytest

from api.run import serve
from api.settings import Settings
from tests.api.conftest import COLD
from tests.api.webhooks.subscriber import subscribing
from tests.postgresql import new_database
from tests.processes import free_port, ready, running, urn

WORKERS, CLIENTS = 3, 32
URN = "/v1/equipment/toy-urn"
T = TypeVar("T")


class Said(NamedTuple):
    status: int
    headers: dict[str, str]
    raw: bytes

    @property
    def body(self) -> Any:
        return orjson.loads(self.raw)

    @property
    def kind(self) -> str:
        return str(self.body.get("type", ""))


def ask(port: int, method: str, path: str, body: object = None, **headers: str) -> Said:
    """One request on a connection of its own; a header's name is written with underscores."""
    sent = {"content-type": "application/json", **{name.replace("_", "-"): value for name, value in headers.items()}}
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=60)) as connection:
        connection.request(method, path, None if body is None else orjson.dumps(body), sent)
        answer = connection.getresponse()
        return Said(answer.status, {n.lower(): v for n, v in answer.getheaders()}, answer.read())


def until_done(port: int, path: str, body: object, key: str) -> Said:
    """Post until the same request is no longer under way elsewhere."""
    while True:
        said = ask(port, "POST", path, body, idempotency_key=key)
        if said.kind != "/problems/in-flight":
            return said
        time.sleep(0.02)


def hammer(one: Callable[[int], T]) -> list[T]:
    """What each of the clients got that begin together; they are told their number."""
    together = Barrier(CLIENTS)

    def begin(number: int) -> T:
        together.wait()
        return one(number)

    with ThreadPoolExecutor(CLIENTS) as pool:
        return list(pool.map(begin, range(CLIENTS)))


@pytest.fixture(scope="module")
def ports(postgresql_socket: str) -> Iterator[list[int]]:
    """The ports of workers behind one database."""
    with new_database(postgresql_socket) as url, ExitStack() as services:
        found = [free_port() for _ in range(WORKERS)]
        for port in found:
            services.enter_context(running(urn(url, port)))
        yield found


def opened(port: int) -> str:
    return ask(port, "POST", "/v1/cases", {"equipment": "toy-urn"}).headers["location"]


def feed(port: int) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    while page := ask(port, "GET", f"/v1/events?limit=100&after={len(found)}").body["events"]:
        found += page
    return found


def test_many_clients_of_all_workers_have_each_effect_once(ports: list[int]) -> None:
    keys, before = 3, len(feed(ports[0]))
    case = opened(ports[0])

    def one(number: int) -> list[Said]:
        port = ports[number % WORKERS]
        said = [
            until_done(port, f"{case}/findings", {"findings": [{**COLD, "note": f"key {key}"}]}, f"key-{key}")
            for key in range(keys)
        ]
        own = {"findings": [{**COLD, "note": "if nobody else"}]}
        return [*said, ask(port, "POST", f"{case}/findings", own, if_match=f'"{keys + 1}"')]

    said = hammer(one)
    for key in range(keys):
        assert {answers[key].status for answers in said} == {201}
        assert len({answers[key].raw for answers in said}) == 1, "the same answer, to the byte"
    assert Counter(answers[keys].status for answers in said) == {201: 1, 412: CLIENTS - 1}
    ended = hammer(lambda n: ask(ports[n % WORKERS], "POST", f"{case}/closure", {"found": "unlisted"}))
    assert Counter(answer.status for answer in ended) == {201: 1, 409: CLIENTS - 1}
    whole = {ask(port, "GET", case).raw for port in ports}
    assert len(whole) == 1
    record = orjson.loads(whole.pop())
    assert Counter(f["note"] for f in record["findings"]) == {
        **{f"key {key}": 1 for key in range(keys)}, "if nobody else": 1}
    assert (record["version"], record["status"]) == (keys + 3, "closed")
    events = feed(ports[1])
    assert [int(event["sequence"]) for event in events] == list(range(1, len(events) + 1))
    assert Counter(event["type"].rpartition(".")[2] for event in events[before:]) == {
        "opened": 1, "findings_added": keys + 1, "closed": 1}


def test_a_case_opened_under_one_key_everywhere_is_one_case(ports: list[int]) -> None:
    body = {"equipment": "toy-urn", "external_id": "WO-7", "findings": [COLD]}
    said = hammer(lambda n: until_done(ports[n % WORKERS], "/v1/cases", body, "WO-7"))
    assert {answer.status for answer in said} == {201} and len({answer.raw for answer in said}) == 1
    assert len(ask(ports[0], "GET", "/v1/cases?external_id=WO-7").body["cases"]) == 1


def test_cases_changed_at_once_number_their_events_without_gaps(ports: list[int]) -> None:
    before = len(feed(ports[0]))

    def one(number: int) -> str:
        port, case = ports[number % WORKERS], opened(ports[number % WORKERS])
        for other in (1, 2):
            said = ask(ports[(number + other) % WORKERS], "POST", f"{case}/findings", {"findings": [COLD]})
            assert said.status == 201
        return f"{port}{case}"

    cases = hammer(one)
    events = feed(ports[2])
    assert [int(event["sequence"]) for event in events] == list(range(1, len(events) + 1))
    told = Counter(event["subject"] for event in events[before:])
    assert told == {case[case.index("/"):]: 3 for case in cases}


def document(port: int, rate: float) -> tuple[dict[str, Any], str]:
    """The newest document with another rate, and the tag of the one it follows."""
    newest = ask(port, "GET", f"{URN}/document")
    changed = newest.body
    changed["components"]["thermostat"]["failure_modes"]["stuck_open"]["calls_per_thousand"] = rate
    return changed, newest.headers["etag"]


def test_a_revision_is_published_once_and_seen_by_all_at_once(ports: list[int]) -> None:
    for turn in range(3):
        body, tag = document(ports[turn % WORKERS], 0)

        def one(number: int, turn: int = turn, body: dict[str, Any] = body, tag: str = tag) -> Said:
            own = orjson.loads(orjson.dumps(body))
            mode = own["components"]["thermostat"]["failure_modes"]["stuck_open"]
            mode["calls_per_thousand"] = 100 * turn + number + 1
            return ask(ports[number % WORKERS], "POST", f"{URN}/revisions", own, if_match=tag)

        said = hammer(one)
        assert Counter(answer.status for answer in said) == {201: 1, 412: CLIENTS - 1}
        published = next(answer for answer in said if answer.status == 201)
        line = published.body["revision"]
        for port in ports:
            assert ask(port, "GET", f"{URN}/document").headers["etag"] == published.headers["etag"]
            graph = ask(port, "POST", "/v1/cases", {"equipment": "toy-urn"}).body["graph"]
            assert (graph["revision"], graph["digest"]) == (line["revision"], line["digest"])
    numbers = [r["revision"] for r in ask(ports[0], "GET", f"{URN}/revisions?limit=100").body["revisions"]]
    assert numbers == list(range(len(numbers) + 1, 1, -1))


def test_an_overlay_is_set_once_and_seen_by_all_at_once(ports: list[int]) -> None:
    for _ in range(2):
        tag = ask(ports[0], "GET", f"{URN}/overlay").headers["etag"]
        said = hammer(lambda n, tag=tag: ask(  # type: ignore[misc]
            ports[n % WORKERS], "PUT", f"{URN}/overlay", {"prices": {"thermostat_kit": n + 1}}, if_match=tag))
        assert Counter(answer.status for answer in said) == {200: 1, 412: CLIENTS - 1}
        number = next(answer for answer in said if answer.status == 200).body["number"]
        for port in ports:
            assert ask(port, "POST", "/v1/advice", {"equipment": "toy-urn", "budget_ms": 0}).body["graph"][
                "overlay"] == number


def test_a_worker_that_looked_just_before_sees_what_is_published(ports: list[int]) -> None:
    for turn in range(2 * WORKERS):
        here, there = ports[turn % WORKERS], ports[(turn + 1) % WORKERS]
        body, tag = document(here, 500 + turn)
        before, said, after = (
            ask(there, "POST", "/v1/advice", {"equipment": "toy-urn", "budget_ms": 0}),
            ask(here, "POST", f"{URN}/revisions", body, if_match=tag),
            ask(there, "POST", "/v1/advice", {"equipment": "toy-urn", "budget_ms": 0}),
        )
        assert said.status == 201, said.body
        assert after.body["graph"]["revision"] == said.body["revision"]["revision"]
        assert before.body["graph"]["revision"] == said.body["revision"]["revision"] - 1


def test_history_handed_in_at_all_workers_is_taken_once(ports: list[int]) -> None:
    case = opened(ports[0])
    ask(ports[0], "POST", f"{case}/closure", {"found": "unlisted"})
    record = {**ask(ports[0], "GET", f"{case}/closeout").body, "case": None, "external_id": "OLD-9"}
    said = hammer(lambda n: ask(ports[n % WORKERS], "POST", "/v1/closeouts", {"closeouts": [record]}))
    assert {answer.status for answer in said} == {201}
    assert sum(len(answer.body["imported"]) for answer in said) == 1
    assert len({name for answer in said for name in (*answer.body["imported"], *answer.body["known"])}) == 1


def test_a_subscriber_is_told_once_of_each_event(ports: list[int]) -> None:
    with subscribing() as there:
        hook = ask(ports[0], "POST", "/v1/webhooks", {"url": there.url}).headers["location"]
        before = len(feed(ports[0]))
        hammer(lambda n: ask(ports[n % WORKERS], "POST", "/v1/cases", {"equipment": "toy-urn"}))
        names = {event["id"] for event in feed(ports[0])[before:]}
        deadline = time.monotonic() + 60
        while time.monotonic() < deadline:
            lines = ask(ports[0], "GET", f"{hook}/deliveries?limit=100").body["deliveries"]
            if all(line["state"] == "delivered" for line in lines):
                break
            time.sleep(0.1)
        assert ask(ports[0], "DELETE", hook).status == 200
    assert Counter(headers["webhook-id"] for _, headers, _ in there.came) == dict.fromkeys(names, 1)
    assert len(names) == CLIENTS


def children(process: int) -> list[int]:
    """The workers of a service: its children that listen."""
    found = Path(f"/proc/{process}/task/{process}/children").read_text(encoding="ascii").split()
    return [int(one) for one in found if b"spawn_main" in Path(f"/proc/{one}/cmdline").read_bytes()]


def listened_to(port: int) -> bool:
    with closing(socket.socket()) as caller:
        return caller.connect_ex(("127.0.0.1", port)) == 0


@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="looks at processes as Linux shows them")
def test_a_worker_that_dies_is_replaced_and_all_end_with_the_first(postgresql_socket: str) -> None:
    with new_database(postgresql_socket) as url:
        port = free_port()
        with running(urn(url, port, workers=2)) as first:
            assert first.pid is not None
            case = opened(port)
            before = children(first.pid)
            assert len(before) == 2
            os.kill(before[0], signal.SIGKILL)
            deadline = time.monotonic() + 120
            while (now := children(first.pid)) == before or len(now) < 2:
                assert time.monotonic() < deadline
                time.sleep(0.05)
            assert before[1] in now and ready(port, first.is_alive)
            assert ask(port, "GET", case).status == 200
            first.kill()
            first.join()
            while listened_to(port):
                assert time.monotonic() < deadline
                time.sleep(0.05)


@pytest.mark.parametrize(("settings", "why"), [
    (Settings(workers=0), "expected 1 or more"),
    (Settings(database="cases.db", workers=2), "needs PostgreSQL"),
    (Settings(database="sqlite:///cases.db", workers=2), "needs PostgreSQL"),
])
def test_workers_that_can_t_be_are_refused(
    settings: Settings, why: str, capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert serve(settings) == 2
    assert why in capsys.readouterr().err
    assert not list(tmp_path.iterdir())
