"""The tools: what each is for, what it takes, and the request of the service behind it.

A tool makes one request to the service itself, in this process and with the caller's own key, so keys, scopes, limits
and refusals are those of the HTTP interface.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, Literal
from urllib.parse import quote

import orjson
from mcp.server.mcpserver import Context, MCPServer
from mcp.server.mcpserver.exceptions import ToolError
from pydantic import Field
from starlette.types import ASGIApp

from api.in_process import call
from api.model_tools import saying
from schemas.requests import FindingGiven

Equipment = Annotated[str, Field(description="id of the machine, from find_machine")]
Case = Annotated[str, Field(description="id of the case, from open_case")]
Findings = Annotated[list[FindingGiven], Field(max_length=200, description=(
    "what is known, in order: {about: id of a symptom or test, outcome: id of an outcome} or {about, reading: {value, "
    "unit}}; could_not_tell where the user can't say"
))]
Licences = Annotated[list[Literal["electrical", "refrigerant", "gas"]], Field(
    max_length=5, description="licences the person at the machine holds"
)]
Words = Annotated[str, Field(min_length=1, max_length=2000, description="what the user said, word for word")]
Role = Annotated[Literal["site_contact", "technician"], Field(description="who is at the machine")]
INSTRUCTIONS = (
    "Halfsplit finds out why a machine is down: ice makers, glasswashers, freezers, ovens. Begin with find_machine and "
    "match_words. Read dangers out first and ask nothing after one. Then ask next_question until it says how the call "
    "goes on, read each answer with match_answer, and give it back as a finding. With a technician on site use advise. "
    "Never invent ids, readings or parts: only those the tools name exist."
)


def add_tools(server: MCPServer, app: ASGIApp) -> None:
    """Register every tool on the server."""
    async def ask(
        context: Context[Any, Any], say: Callable[[Any], str], method: str, path: str, body: Any = None
    ) -> str:
        given = context.headers or {}
        headers = {name: given[name] for name in ("authorization", "traceparent") if name in given}
        if body is not None:
            headers["content-type"] = "application/json"
        sent = b"" if body is None else orjson.dumps(body, default=_plain)
        status, raw = await call(app, method, path, headers, sent)
        answer = orjson.loads(raw)
        if status >= 400:
            raise ToolError(saying.problem_text(status, answer))
        return say(answer)

    @server.tool()
    async def find_machine(words: Words, context: Context[Any, Any]) -> str:
        """Find the machine the user means, from its model, maker or nickname, badly typed or not."""
        return await ask(context, saying.machines_text, "GET", f"/v1/equipment-matches?words={_query(words)}")

    @server.tool()
    async def match_words(words: Words, context: Context[Any, Any], equipment: Equipment | None = None) -> str:
        """Match what the user said with dangers and symptoms. Candidates only: confirm them with the user."""
        return await ask(context, saying.words_text, "POST", "/v1/symptom-matches",
                         {"words": words, "equipment": equipment})

    @server.tool()
    async def next_question(
        equipment: Equipment, findings: Findings, context: Context[Any, Any], said: str = "",
    ) -> str:
        """The question worth asking next, or how the call goes on: put it right yourself, send somebody, make safe."""
        return await ask(context, saying.turn_text, "POST", "/v1/questions",
                         {"equipment": equipment, "findings": findings, "said": said})

    @server.tool()
    async def match_answer(
        equipment: Equipment, about: Annotated[str, Field(description="id of what was asked, from next_question")],
        words: Words, context: Context[Any, Any],
    ) -> str:
        """Which outcome the user's free answer to a question means, and what to ask back where it isn't sure."""
        return await ask(context, saying.answer_text, "POST", "/v1/answer-matches",
                         {"equipment": equipment, "about": about, "words": words})

    @server.tool()
    async def advise(
        equipment: Equipment, findings: Findings, context: Context[Any, Any], role: Role = "technician",
        licences: Licences = [],  # noqa: B006 (read only)
    ) -> str:
        """Which failure modes are likely and what to test or repair next, for the person at the machine."""
        asker = {"role": role, "licences": licences}
        return await ask(context, saying.advice_text, "POST", "/v1/advice",
                         {"equipment": equipment, "findings": findings, "asker": asker, "most": 2})

    @server.tool()
    async def what_to_bring(
        equipment: Equipment, findings: Findings, context: Context[Any, Any], licences: Licences = [],  # noqa: B006
        budget: Annotated[float | None, Field(ge=0, description="most the parts may cost, machine's currency")] = None,
    ) -> str:
        """The parts, instruments and licences for the visit, with the chance that the job can then be finished."""
        asker = {"role": "technician", "licences": licences}
        return await ask(context, saying.kit_text, "POST", "/v1/kits", {
            "equipment": equipment, "findings": findings, "asker": asker, "budget": budget, "questions": 0})

    @server.tool()
    async def open_case(
        equipment: Equipment, complaint: Words, findings: Findings, context: Context[Any, Any],
        external_id: Annotated[str | None, Field(description="the user's own number of the job")] = None,
    ) -> str:
        """Store a service call, when the user wants it kept."""
        return await ask(context, saying.case_text, "POST", "/v1/cases", {
            "equipment": equipment, "complaint": complaint, "findings": findings, "external_id": external_id})

    @server.tool()
    async def record_findings(case: Case, findings: Findings, context: Context[Any, Any]) -> str:
        """Add findings to a stored call, after the user has confirmed them."""
        return await ask(context, saying.case_text, "POST", f"/v1/cases/{_query(case)}/findings",
                         {"findings": findings})

    @server.tool()
    async def case_advice(case: Case, context: Context[Any, Any]) -> str:
        """What the findings of a stored call say, and what to do next."""
        return await ask(context, saying.advice_text, "GET", f"/v1/cases/{_query(case)}/advice?most=2")


def _plain(value: Any) -> Any:
    return value.model_dump(mode="json", exclude_none=True)


def _query(text: str) -> str:
    return quote(text, safe="")
