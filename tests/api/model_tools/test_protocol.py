"""The tools through the official client of the protocol, over a real socket."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import httpx2
import pytest
from mcp.client import Client
from mcp.client.streamable_http import streamable_http_client

from api.access import make_key
from api.clock import utc_now
from api.database import open_database, upgrade
from api.run import serving
from tests.api.conftest import settings

Call = Callable[..., Awaitable[str]]
COLD = {"about": "water_cold", "outcome": "present"}


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    place: Path = tmp_path_factory.mktemp("tools")
    with serving(settings(database=str(place / "tools.db"), port=0, open=False)) as address:
        yield address


@pytest.fixture(scope="module")
def keys(address: str, tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    database = open_database(str(tmp_path_factory.getbasetemp() / "tools0" / "tools.db"))
    upgrade(database)
    try:
        return {
            name: make_key(database, utc_now, scopes=scopes).text
            for name, scopes in (("all", ["admin"]), ("advice", ["advice:read"]), ("cases", ["cases:read"]))
        }
    finally:
        database.close()


def talk(address: str, key: str, conversation: Callable[[Client], Awaitable[Any]]) -> Any:
    async def connected() -> Any:
        headers = {"authorization": f"Bearer {key}"}
        async with (
            httpx2.AsyncClient(headers=headers, timeout=30) as http,
            Client(streamable_http_client(f"{address}/mcp", http_client=http)) as client,
        ):
            return await conversation(client)

    return asyncio.run(connected())


async def said(client: Client, tool: str, **arguments: Any) -> str:
    answer = await client.call_tool(tool, arguments)
    text: str = answer.content[0].text  # type: ignore[union-attr]
    return f"ERROR {text}" if answer.is_error else text


def test_the_tools_say_what_they_are_for(address: str, keys: dict[str, str]) -> None:
    async def conversation(client: Client) -> Any:
        return (await client.list_tools()).tools

    tools = talk(address, keys["all"], conversation)
    assert {t.name for t in tools} == {
        "find_machine", "match_words", "next_question", "match_answer", "advise", "what_to_bring", "open_case",
        "record_findings", "case_advice",
    }
    assert all(t.description and len(t.description) < 200 for t in tools)
    assert "context" not in tools[0].input_schema["properties"]


def test_a_conversation_from_the_words_to_the_kit(address: str, keys: dict[str, str]) -> None:
    async def conversation(client: Client) -> list[str]:
        told = [await said(client, "find_machine", words="the toy urn"),
                await said(client, "match_words", words="the water is stone cold", equipment="toy-urn")]
        findings: list[dict[str, Any]] = [COLD]
        for _ in range(6):
            told.append(await said(client, "next_question", equipment="toy-urn", findings=findings))
            if not told[-1].startswith("Ask ("):
                break
            about = told[-1].partition("(")[2].partition(")")[0]
            findings.append({"about": about, "outcome": "could_not_tell"})
        told += [await said(client, "advise", equipment="toy-urn", findings=[COLD], licences=["electrical"]),
                 await said(client, "what_to_bring", equipment="toy-urn", findings=[COLD])]
        return told

    machine, words, *turns, advice, kit = talk(address, keys["all"], conversation)
    assert machine.startswith("toy-urn: ")
    assert "water_cold = present" in words and "Confirm with the user" in words
    assert turns[-1].startswith("How it goes on: ")
    assert "Most likely:" in advice and "local codes" in advice
    assert kit.lstrip().startswith("Bring")
    assert all(len(text) < 4000 for text in (machine, words, *turns, advice, kit))


def test_a_danger_comes_first_and_ends_the_questions(address: str, keys: dict[str, str]) -> None:
    async def conversation(client: Client) -> list[str]:
        words = "there's smoke coming out and it smells of burning"
        return [await said(client, "match_words", words=words, equipment="toy-urn"),
                await said(client, "next_question", equipment="toy-urn", findings=[COLD], said=words)]

    for text in talk(address, keys["all"], conversation):
        assert text.startswith("DANGER: ") and "Ask (" not in text


def test_a_case_is_kept_with_the_same_keys_and_refusals(address: str, keys: dict[str, str]) -> None:
    async def conversation(client: Client) -> list[str]:
        opened = await said(client, "open_case", equipment="toy-urn", complaint="cold tea", findings=[COLD])
        case = opened.split()[1]
        return [opened, await said(client, "record_findings", case=case, findings=[COLD]),
                await said(client, "case_advice", case=case),
                await said(client, "record_findings", case=case, findings=[{**COLD, "about": "water_colt"}]),
                await said(client, "advise", equipment="toy-urm", findings=[])]

    opened, recorded, advice, misspelt, unknown = talk(address, keys["all"], conversation)
    assert "version 1" in opened and "version 2" in recorded and "Most likely:" in advice
    assert misspelt.startswith("ERROR") and "nearest: water_cold" in misspelt
    assert unknown.startswith("ERROR") and "nearest: toy-urn" in unknown


def test_a_tool_needs_the_scope_of_its_operation(address: str, keys: dict[str, str]) -> None:
    async def conversation(client: Client) -> str:
        return await said(client, "open_case", equipment="toy-urn", complaint="cold tea", findings=[])

    assert "needs the scope cases:write" in talk(address, keys["advice"], conversation)


def test_without_a_key_there_is_nothing(address: str, keys: dict[str, str]) -> None:
    body = {"jsonrpc": "2.0", "id": 1, "method": "tools/list"}
    assert httpx.post(f"{address}/mcp", json=body).status_code == 401
    wrong = {"authorization": f"Bearer {keys['cases']}"}
    assert httpx.post(f"{address}/mcp", json=body, headers=wrong).status_code == 403
    good = {"authorization": f"Bearer {keys['all']}"}
    assert httpx.get(f"{address}/mcp", headers=good).status_code == 405
    assert httpx.post(f"{address}/mcp", json=body, headers={**good, "host": "evil.example"}).status_code in (403, 421)
