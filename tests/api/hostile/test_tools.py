"""Messages to the tools of language models."""

from __future__ import annotations

import pytest

from api.model_tools.endpoint import PATH
from tests.api.hostile.taking import BRACKETS, SPOKEN, Service


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
