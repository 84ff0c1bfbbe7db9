"""Values, keys and shapes of JSON that do harm."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from typing import Any

import pytest

from schemas.problems import pointer_of
from tests.api.hostile.taking import AS_JSON, BRACKETS, SHAPED, Service, Taken, places, problem
from tests.mutated import Path, at, paths

MOST_PLACES = 12
"""Objects and arrays of one body that are changed one by one."""
every_json = pytest.mark.parametrize("body", AS_JSON, ids=[t.operation.name for t in AS_JSON])
every_shaped = pytest.mark.parametrize("body", SHAPED, ids=[t.operation.name for t in SHAPED])


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
