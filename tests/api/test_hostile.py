"""Bodies made to do harm, sent to every operation that takes one.

The operations and their examples come from the OpenAPI document, so that none can be left out. Whatever is sent, the
answer is a problem that says where and what, and nothing is stored.
"""

from __future__ import annotations

import copy
import gzip
import json
import re
import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from select import select
from typing import Any
from urllib.parse import urlsplit

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import select as rows_of

from api.app import create_app
from api.model_tools.endpoint import PATH
from api.run import serving
from api.settings import Settings
from api.tables import metadata
from schemas.problems import MOST_ITEMS, pointer_of
from tests import postgresql
from tests.api.conftest import COLD, settings
from tests.api.walking import Operation, document, operations
from tests.mutated import Path, at, paths

BRACKETS = 100_000
MANY = 100_000_000
"""Bytes of a body that is far too large."""
PIECE = b" " * 65_536
MOST_PLACES = 12
"""Objects and arrays of one body that are changed one by one."""


@dataclass(frozen=True)
class Taken:
    """A body that an operation takes: its media type and the document's own example."""

    operation: Operation
    media_type: str
    example: Any

    @property
    def name(self) -> str:
        return f"{self.operation.name} {self.media_type}"

    def headers(self) -> dict[str, str]:
        """What the operation wants besides the body."""
        first = {"if-none-match": "*"} if self.operation.name == "publishRevision" else {"if-match": "*"}
        return {"content-type": self.media_type, **first}

    def path(self, ids: dict[str, str]) -> str:
        """The address, naming what is there."""
        path = self.operation.path
        for parameter in self.operation.described.get("parameters", ()):
            if parameter["in"] == "path":
                named = ids.get(parameter["name"], parameter.get("example"))
                path = path.replace("{" + parameter["name"] + "}", str(named))
        return path


def taken() -> list[Taken]:
    """Every body that some operation takes."""
    found = []
    for operation in operations():
        for media_type, content in operation.described.get("requestBody", {}).get("content", {}).items():
            examples = [e["value"] for e in content.get("examples", {}).values()]
            found.append(Taken(operation, media_type, max(examples, key=lambda e: len(str(e)), default=None)))
    return found


TAKEN = taken()
AS_JSON = [t for t in TAKEN if t.media_type == "application/json"]
SHAPED = [t for t in AS_JSON if t.operation.name != "checkGraph"]
"""Bodies with a shape; a graph check takes any value and says what is wrong with it."""
every = pytest.mark.parametrize("body", TAKEN, ids=[t.name for t in TAKEN])
every_json = pytest.mark.parametrize("body", AS_JSON, ids=[t.operation.name for t in AS_JSON])
every_shaped = pytest.mark.parametrize("body", SHAPED, ids=[t.operation.name for t in SHAPED])


@dataclass(frozen=True)
class Service:
    """A running service, and what is there to be named."""

    client: TestClient
    ids: dict[str, str]

    def send(self, body: Taken, content: bytes, **headers: str) -> Any:
        given = {**body.headers(), **{n.replace("_", "-"): v for n, v in headers.items()}}
        return self.client.request(body.operation.method, body.path(self.ids), content=content, headers=given)

    def stored(self) -> dict[str, list[Any]]:
        """All that is in the database."""
        database = self.client.app.state.service.database  # type: ignore[attr-defined]
        with database.reading() as db:
            return {
                table.name: sorted(map(tuple, db.execute(rows_of(table)).all()), key=repr)
                for table in metadata.sorted_tables
            }


@contextmanager
def running(url: str) -> Iterator[Service]:
    """A service with a case in it."""
    with TestClient(create_app(settings(database=url)), raise_server_exceptions=False) as client:
        case = client.post("/v1/cases", json={"equipment": "toy-urn", "findings": [COLD]}).json()["id"]
        yield Service(client, {"case_id": case, "equipment_id": "toy-urn", "number": "1"})


@pytest.fixture(scope="module")
def on_sqlite(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    with running(str(tmp_path_factory.mktemp("hostile") / "cases.db")) as found:
        yield found


@pytest.fixture(scope="module")
def on_postgresql(postgresql_socket: str) -> Iterator[Service]:
    with postgresql.new_database(postgresql_socket) as url, running(url) as found:
        yield found


def unchanged(found: Service) -> Iterator[Service]:
    """A service in which nothing may be stored."""
    before = found.stored()
    yield found
    assert found.stored() == before


@pytest.fixture
def service(on_sqlite: Service) -> Iterator[Service]:
    yield from unchanged(on_sqlite)


@pytest.fixture(params=["on_sqlite", "on_postgresql"])
def either(request: pytest.FixtureRequest) -> Iterator[Service]:
    """A service on each database, for what one of them might take and the other not."""
    yield from unchanged(request.getfixturevalue(request.param))


def problem(response: Any, *codes: str) -> Any:
    """The problem that a response is, one of these."""
    found = response.json()
    assert response.headers["content-type"] == "application/problem+json", response.text
    assert found["type"].removeprefix("/problems/") in codes, response.text
    assert found["status"] == response.status_code < 500
    assert found["detail"]
    assert all(item["detail"] for item in found["errors"])
    return found


def places(body: Taken, response: Any) -> set[str]:
    """Where a refusal says that something is wrong."""
    if body.operation.name == "adviseMany" and response.status_code == 200:  # each item is answered for itself
        return {
            f"/items/{n}{error['pointer']}" for n, item in enumerate(response.json()["items"])
            if item["status"] == 422 for error in item["problem"]["errors"]
        }
    return {error["pointer"] for error in problem(response, "invalid-request")["errors"]}


def written(data: Any) -> bytes:
    """Data as JSON, with numbers that JSON has no word for as other writers put them."""
    return json.dumps(data).encode()


def each_is_named(service: Service, body: Taken, leaves: list[Path], value: Any) -> None:
    """Put `value` in the place of all leaves at once, and of those not yet named, until every one has been named."""
    left = {pointer_of(path): path for path in leaves}
    while left:
        data = copy.deepcopy(body.example)
        for *above, last in left.values():
            at(data, tuple(above))[last] = value
        named = places(body, service.send(body, written(data)))
        rest = {p: path for p, path in left.items() if not _is_named(p, named, isinstance(value, dict | list))}
        assert len(rest) < len(left), (named, list(left))
        left = rest


def _is_named(place: str, named: set[str], inside: bool) -> bool:
    return place in named or (inside and any(p.startswith(place + "/") for p in named))


def leaves(example: Any, kind: Callable[[Any], bool]) -> list[Path]:
    return [path for path in paths(example) if kind(at(example, path))]


@every_json
def test_what_is_not_json(service: Service, body: Taken) -> None:
    for content in (
        b"", b" ", b"\x00", b"{", b"{'a': 1}", b'{"a": 1} {}', b"{} \x00", b'{"a": 1,}', b"\xff\xfe{}",
        "{}".encode("utf-16"), b"\xef\xbb\xbf{}", b'{"a": "\\ud800"}', b'{"\\udfff": 1}', b'{"a": "\xed\xa0\x80"}',
        b"[" * BRACKETS, b"[" * BRACKETS + b"]" * BRACKETS, b'{"a":' * BRACKETS,
    ):
        response = service.send(body, content)
        assert response.status_code == 400, (content[:40], response.text)
        problem(response, "not-json")


@every_shaped
def test_another_value_than_an_object(service: Service, body: Taken) -> None:
    for content in (
        b"[]", b"null", b"true", b'"words"', b"9223372036854775808", b"9" * 4000, b"NaN", b"-Infinity", b"1e999",
        b"[[[[]]]]",
    ):
        assert places(body, service.send(body, content)) == {""}


@every_shaped
@pytest.mark.parametrize("text", ["\x00", "a\x00b", "\u202e", "a\u2066b", "a" * 10_000, 2**63, [], {}])
def test_every_string(either: Service, body: Taken, text: Any) -> None:
    each_is_named(either, body, leaves(body.example, lambda v: isinstance(v, str)), text)


@every_shaped
@pytest.mark.parametrize("number", [2**63, -(2**63) - 1, 10**400, float("nan"), float("inf"), -float("inf"), "1", []])
def test_every_number(either: Service, body: Taken, number: Any) -> None:
    numbers = leaves(body.example, lambda v: isinstance(v, int | float) and not isinstance(v, bool))
    each_is_named(either, body, numbers, number)


@every_shaped
@pytest.mark.parametrize("key", ["\x00", "\u202e", "a" * 10_000])
def test_a_key_in_every_object(either: Service, body: Taken, key: str) -> None:
    objects = [(), *leaves(body.example, lambda v: isinstance(v, dict))]
    for path in objects[:MOST_PLACES]:
        data = copy.deepcopy(body.example)
        at(data, path)[key] = 1
        assert any(p.startswith(pointer_of(path)) for p in places(body, either.send(body, written(data))))


@every_shaped
def test_arrays_for_objects_and_objects_for_arrays(service: Service, body: Taken) -> None:
    for path in leaves(body.example, lambda v: isinstance(v, dict | list))[:MOST_PLACES]:
        data = copy.deepcopy(body.example)
        *above, last = path
        at(data, tuple(above))[last] = [[]] if isinstance(at(data, path), dict) else {"a": {}}
        assert any(p.startswith(pointer_of(path)) for p in places(body, service.send(body, written(data))))


@every_shaped
def test_a_sound_value_does_not_hide_its_duplicate(service: Service, body: Taken) -> None:
    sound = written(body.example)
    for key in body.example:
        twice = sound[:-1] + b"," + written(key) + b": " + b'"\\u0000"}'
        assert any(p.startswith(pointer_of((key,))) for p in places(body, service.send(body, twice)))


@pytest.mark.parametrize("body", [t for t in TAKEN if t.operation.name == "checkGraph"], ids=lambda t: t.media_type)
@pytest.mark.parametrize(("content", "code"), [
    (b"a0: &a0 [x, x]\n" + b"".join(b"a%d: &a%d [%s]\n" % (i, i, b", ".join([b"*a%d" % (i - 1)] * 9))
                                    for i in range(1, 30)), "alias-not-allowed"),
    (b"a: &a\n  <<: *a\n", "alias-not-allowed"),
    (b"[" * BRACKETS, "too-deep"), (b'{"a":' * BRACKETS, "too-deep"), (b"- " * BRACKETS + b"x", "too-deep"),
    (b"a: 1\na: 2\n", "duplicate-key"), (b'{"a": 1, "a": 2}', "duplicate-key"),
    (b'{"format": NaN}', "not-a-number"), (b"format: .nan\n", "not-a-number"), (b"format: -.inf\n", "not-a-number"),
    (b"format: 9223372036854775808\n", "unknown-value"), (b"format: " + b"9" * 400 + b"\n", "not-a-number"),
    (b'format: "\\ud800"\n', "not-parsable"), (b'{"format": "\\ud800"}', "not-utf8"), (b"format: \xff\n", "not-utf8"),
    (b"format: \x00\n", "not-parsable"), (b'format: 1\nequipment: {id: a, title: "\\0"}\n', "bad-name"),
    (b'format: 1\nequipment: {id: a, title: "\xe2\x80\xae"}\n', "bad-name"),
    (b"format: !!python/object/apply:os.system [ls]\n", "tag-not-allowed"), (b"a: 1\n---\nb: 2\n", "not-parsable"),
    (b"", "empty"), (b"- 1\n", "wrong-type"), (b"a" * 1_500_000, "wrong-type"),
])
def test_a_graph_check_says_what_is_wrong(service: Service, body: Taken, content: bytes, code: str) -> None:
    response = service.send(body, content)
    if body.media_type == "application/json" and response.status_code == 400:
        problem(response, "not-json")
        return
    found = response.json()
    assert (response.status_code, found["usable"]) == (200, False)
    assert code in {d["code"] for d in found["defects"]}
    assert all(d["sentence"] and d["line"] for d in found["defects"])
    assert len(found["defects"]) <= MOST_ITEMS


@pytest.mark.parametrize("cell", ["\x00", "a\x00b", "\u202e", "a\u2066b", "x" * 3000, "x" * 200_000])
def test_every_cell_of_a_table(either: Service, cell: str) -> None:
    (body,) = (t for t in TAKEN if t.media_type == "text/csv")
    head, row = body.example.split("\r\n")[:2]
    cells = row.split(",")
    assert len(head.split(",")) == len(cells)
    for n in range(len(cells)):
        table = f"{head}\r\n{','.join([*cells[:n], cell, *cells[n + 1:]])}\r\n"
        assert problem(either.send(body, table.encode()), "not-a-table")["errors"]


@pytest.mark.parametrize(("column", "cell"), [
    ("age_years", "nan"), ("age_years", "-inf"), ("age_years", "1e999"), ("age_years", "9" * 400),
    ("active_minutes", "NaN"), ("active_minutes", "9223372036854775808"), ("active_minutes", "Infinity"),
    ("findings", "boils=1e999 A"), ("findings", "boils=present*9223372036854775808"), ("spare_parts", "a*99999999999"),
    ("findings", "boils=" + "[" * 10_000), ("opened", "9999-99-99T00:00:00Z"), ("opened", "2026-02-31T00:00:00Z"),
    ("opened", "٢٠٢٦-03-02T08:15:00Z"),
])
def test_a_cell_that_is_no_number_or_time(service: Service, column: str, cell: str) -> None:
    (body,) = (t for t in TAKEN if t.media_type == "text/csv")
    head, row = body.example.split("\r\n")[:2]
    cells = row.split(",")
    cells[head.split(",").index(column)] = cell
    found = problem(service.send(body, f"{head}\r\n{','.join(cells)}\r\n".encode()), "not-a-table")
    assert all(error["pointer"].startswith("/closeouts/0") for error in found["errors"])


@pytest.mark.parametrize("content", [
    b"", b"\x00", b"\xff\xfe", b"\n" * 10_000, b"{}", b'"' * 9_999, b"case\r\n", b"\xe2\x80\xae,\x00\r\n1,2\r\n",
    b"equipment,opened,closed,cause\r\n" * 600, b"equipment," * 100_000, b"a,a,a\r\n",
])
def test_what_is_no_table(service: Service, content: bytes) -> None:
    (body,) = (t for t in TAKEN if t.media_type == "text/csv")
    problem(service.send(body, content), "not-a-table")


@every
def test_a_body_that_is_packed_or_in_another_charset(service: Service, body: Taken) -> None:
    bomb = gzip.compress(b" " * 10_000_000)
    for coding in ("gzip", "deflate", "br", "zstd", "gzip, identity", "x" * 300):
        packed = service.send(body, bomb, content_encoding=coding)
        assert (packed.status_code, packed.headers["accept-encoding"]) == (415, "identity")
        problem(packed, "unsupported-content-type")
    for charset in ("utf-16", "latin-1", '"utf-7"', "x" * 300):
        response = service.send(body, "{}".encode("utf-16"), content_type=f"{body.media_type}; charset={charset}")
        assert "charset" in problem(response, "unsupported-content-type")["detail"]


def parameters() -> list[Any]:
    """Every parameter in an address or a query, with its operation."""
    return [
        pytest.param(o, p, id=f"{o.name} {p['name']}")
        for o in operations() for p in o.described.get("parameters", ()) if p["in"] in ("path", "query")
    ]


@pytest.mark.parametrize(("operation", "parameter"), parameters())
def test_every_parameter(either: Service, operation: Operation, parameter: dict[str, Any]) -> None:
    for value in ("%00", "a%00b", "%E2%80%AE", "%ED%A0%80%00", "9223372036854775808", "9" * 4000, "NaN", "[[[["):
        query = "" if parameter["in"] == "path" else f"?{parameter['name']}={value}"
        named = {**either.ids, parameter["name"]: value} if parameter["in"] == "path" else either.ids
        path = Taken(operation, "", None).path(named)
        response = either.client.request(operation.method, path + query, json={}, headers={"if-match": "*"})
        if response.status_code == 200:
            assert "%" not in value, response.text  # words like any other
        else:
            problem(response, "invalid-request", "not-found")


def test_every_string_and_number_that_comes_in_is_bounded() -> None:
    loose: list[str] = []

    def walk(node: Any, where: str, seen: frozenset[str]) -> None:
        if "$ref" in node:
            name = node["$ref"].rsplit("/", 1)[-1]
            if name not in seen:
                walk(document()["components"]["schemas"][name], name, seen | {name})
            return
        for union in ("anyOf", "oneOf", "allOf"):
            for branch in node.get(union, ()):
                walk(branch, where, seen)
        if node.get("type") == "string" and "enum" not in node and "const" not in node:
            pattern = node.get("pattern", "")
            if not pattern or re.search(pattern, "a\x00b") or re.search(pattern, "a\u202eb") \
                    or ("maxLength" not in node and re.search(pattern, "a" * 10_000)):
                loose.append(f"{where}: {node}")
        if node.get("type") in ("number", "integer") and "const" not in node and not (
            {"minimum", "exclusiveMinimum"} & set(node) and {"maximum", "exclusiveMaximum"} & set(node)
        ):
            loose.append(f"{where}: {node}")
        for name, child in node.get("properties", {}).items():
            walk(child, f"{where}/{name}", seen)
        for inner in ("items", "additionalProperties", "propertyNames"):
            if isinstance(node.get(inner), dict):
                walk(node[inner], f"{where}/{inner}", seen)
        for pattern, child in node.get("patternProperties", {}).items():
            walk(child, f"{where}/{pattern}", seen)

    for body in SHAPED:
        walk(body.operation.described["requestBody"]["content"][body.media_type]["schema"], body.name, frozenset())
    for operation in operations():
        for parameter in operation.described.get("parameters", ()):
            if parameter["in"] != "header":
                walk(parameter["schema"], f"{operation.name} {parameter['name']}", frozenset())
    assert not loose, "\n".join(loose)


async def read_until_answered(app: Any, method: str, path: str, headers: dict[str, str]) -> tuple[int, int]:
    """The status that a body of `MANY` bytes is answered with, and how many pieces of it were read."""
    read, status = 0, 0

    async def receive() -> dict[str, Any]:
        nonlocal read
        read += 1
        return {"type": "http.request", "body": PIECE, "more_body": read * len(PIECE) < MANY}

    async def send(message: Any) -> None:
        nonlocal status
        status = message.get("status", status)

    await app({
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method, "scheme": "http",
        "path": path, "raw_path": path.encode(), "query_string": b"", "root_path": "", "client": None,
        "server": ("127.0.0.1", 1), "headers": [(n.encode(), v.encode()) for n, v in headers.items()],
    }, receive, send)
    return status, read


LARGE = [(t.operation.method, t, t.headers()) for t in TAKEN]
SPOKEN = {"content-type": "application/json", "accept": "application/json, text/event-stream", "host": "127.0.0.1:1"}
"""Headers of a request to the tools of language models."""


@pytest.mark.parametrize("body", [*TAKEN, None], ids=[*(t.name for t in TAKEN), "tools"])
def test_of_a_body_far_too_large_little_is_read(service: Service, body: Taken | None) -> None:
    app, portal = service.client.app, service.client.portal
    assert portal is not None
    method, path = ("POST", PATH) if body is None else (body.operation.method.upper(), body.path(service.ids))
    headers = SPOKEN if body is None else body.headers()
    announced = {**headers, "content-length": str(MANY)}
    assert portal.call(read_until_answered, app, method, path, announced) == (413, 0)
    status, read = portal.call(read_until_answered, app, method, path, headers)
    assert status == 413
    assert read <= Settings().most_bytes // len(PIECE) + 2


def test_over_a_socket_the_answer_comes_before_the_end_of_the_body() -> None:
    with serving(settings(port=0)) as address, socket.create_connection(
        (urlsplit(address).hostname, urlsplit(address).port), timeout=30
    ) as connection:
        connection.sendall(b"POST /v1/cases HTTP/1.1\r\nhost: localhost\r\ncontent-type: application/json\r\n"
                           b"transfer-encoding: chunked\r\n\r\n")
        sent = 0
        while sent < MANY and not select([connection], [], [], 0)[0]:
            connection.sendall(b"%x\r\n%s\r\n" % (len(PIECE), PIECE))
            sent += len(PIECE)
        answer = connection.recv(65_536)
    assert answer.startswith(b"HTTP/1.1 413 ")
    assert sent < MANY // 2


def said(name: str, arguments: str) -> bytes:
    """A call of a tool; `arguments` as JSON text."""
    return b'{"jsonrpc": "2.0", "id": 1, "method": "tools/call", "params": {"name": "%s", "arguments": %s}}' % (
        name.encode(), arguments.encode())


@pytest.mark.parametrize("content", [
    b"", b" ", b"\x00", b"{", b"\xff\xfe{}", b"[" * BRACKETS, b"[" * BRACKETS + b"]" * BRACKETS, b'{"a":' * BRACKETS,
    b"[]", b"null", b"NaN", b'{"jsonrpc": "2.0", "id": "\\ud800", "method": "ping"}',
    b'{"jsonrpc": "1.0", "id": 1, "method": "ping"}',
])
def test_what_is_no_message_to_a_tool(service: Service, content: bytes) -> None:
    response = service.client.post(PATH, content=content, headers=SPOKEN)
    assert response.status_code == 400
    assert response.json()["error"]["message"]


@pytest.mark.parametrize("content", [
    said("\\u0000", "{}"), said("find_machine", '{"words": "\\u0000"}'), said("find_machine", '{"words": "\\u202e"}'),
    said("find_machine", '{"words": NaN}'), said("find_machine", '{"words": %s}' % ("[" * 100 + "]" * 100)),
    said("find_machine", '{"words": "%s"}' % ("x" * 100_000)),
    said("open_case", '{"equipment": "toy-urn", "findings": [], "complaint": "\\u0000"}'),
    said("open_case", '{"equipment": "\\u0000", "findings": []}'),
    said("advise", '{"equipment": "toy-urn", "findings": [{"about": "boils", "outcome": {"present": 9e400}}]}'),
    said("advise", '{"equipment": "toy-urn", "findings": [{"about": "a", "reading": {"value": NaN, "unit": "A"}}]}'),
    said("advise", '{"equipment": "../cases", "findings": []}'),
])
def test_what_a_tool_refuses(service: Service, content: bytes) -> None:
    response = service.client.post(PATH, content=content, headers=SPOKEN)
    assert response.status_code == 200
    found = response.json()
    assert found["result"]["isError"] is True
    assert found["result"]["content"][0]["text"]
