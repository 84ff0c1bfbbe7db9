"""The OpenAPI document: what FastAPI gathers, made exact, with problems and examples."""

from __future__ import annotations

from collections.abc import Iterable
from importlib.metadata import version
from typing import Any
from warnings import catch_warnings, simplefilter

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi
from fastapi.routing import iter_route_contexts
from pydantic import TypeAdapter
from pydantic.warnings import UnsupportedFieldAttributeWarning

from api.access import SCOPES
from api.documented import AnswerRoute
from api.examples import Exchange
from api.shapes import closed
from schemas.problems import Problem

_DESCRIPTION = """\
Halfsplit answers three questions about one broken machine: **which failure modes and parts are implicated**, **what \
test next**, and **what to bring**.

In the examples `$HALFSPLIT` is the address of the service.

Ask once with `POST /v1/advice`, which stores nothing; or open a case, record findings as they come, and read its \
advice at any time. A case keeps to the revision of the graph it was opened with, so its answers can be had again, \
byte for byte.

**Keys.** Send `Authorization: Bearer KEY`, in the examples `$HALFSPLIT_KEY`. A key stands for a tenant and has \
scopes; each operation says which it needs. What belongs to another tenant is not there: 404. Each key has a share of \
requests: `RateLimit` says what is left of it, `Retry-After` how long to wait once it is used up (429).

**Repeats.** A request that stores takes an `Idempotency-Key` of your making: sent again, it is not carried out again \
and gets the same answer, to the byte, for a week. A 503 may be sent again after `Retry-After`, with the same key.

**Request ids.** Every answer has an `X-Request-Id`, yours where you sent one; every problem names it. `traceparent` \
(W3C) is carried through.

**Retirement.** An operation that will go says so for a year in `Deprecation` (RFC 9745) and `Sunset` (RFC 8594).

**Errors** are `application/problem+json` (RFC 9457); `type` leads to a page that explains the problem, `errors` says \
where in the request it is. Contradictory findings are no error: the answer carries `conflict`.

**Bodies** are JSON in UTF-8, never packed. Unknown fields are refused; of duplicate keys the last counts, as in most \
JSON readers; NaN and Infinity are refused. A query parameter that has one value comes once.

**Versions.** A case has a strong `ETag`. `If-None-Match` saves reading what has not changed; `If-Match` on a change \
makes sure that nobody else changed the case since it was read (412 if somebody did).

**Safety.** Cautions are part of the answer: show them. They are reminders, not a method of work; local codes and \
licensed practice come first.
"""
_TAGS = [
    {"name": "advice", "description": "One question, one answer, nothing stored."},
    {"name": "cases", "description": "Service calls from the first words to the closed job."},
    {"name": "case answers", "description": "What the findings of a case say."},
    {"name": "paths", "description": "What to do for each outcome, to the end of a visit."},
    {"name": "kits", "description": "What to bring, for one job and for a day of jobs."},
    {"name": "words", "description": "What a caller's own words may mean."},
    {"name": "questions", "description": "What to ask a caller, and how the call goes on."},
    {"name": "equipment", "description": "The machines the service knows."},
    {"name": "graph revisions", "description": "Graphs of your own, and your own figures over those of others."},
    {"name": "graph documents", "description": "Checking the graph of a machine before it is used."},
    {"name": "finished jobs", "description": "What a work-order system takes over, and history read from one."},
    {"name": "events", "description": "What happened: a feed for those who poll, webhooks for those who are called."},
    {"name": "health", "description": "For whoever keeps the service running."},
]
_LINKED = ("readCase", "readCaseAdvice", "readCaseSuspects", "readCaseParts", "readCaseNextTests", "readCaseKit",
           "planCaseKit", "askNextOfCase", "readCasePath", "addFindings", "setCaseContext", "closeCase")


def build(app: FastAPI, exchanges: Iterable[Exchange]) -> dict[str, Any]:
    """The whole document."""
    routes = [found.original_route for found in iter_route_contexts(app.routes)]
    for route in routes:
        if isinstance(route, AnswerRoute):
            route.describe()
    with catch_warnings():  # FastAPI silences it where it declares a body; ours are made later, here
        simplefilter("ignore", UnsupportedFieldAttributeWarning)
        document = get_openapi(
            title=app.title, version=version("halfsplit"), openapi_version="3.1.0", routes=routes,
            summary="Which part failed, what test next, what to bring.", description=_DESCRIPTION, tags=_TAGS,
            servers=[{"url": "/", "description": "this service"}], separate_input_output_schemas=False,
        )
    problem = TypeAdapter(Problem).json_schema(ref_template="#/components/schemas/{model}")
    schemas = document["components"]["schemas"]
    schemas.update(problem.pop("$defs"))
    schemas["Problem"] = problem
    document["components"]["securitySchemes"] = {"key": {
        "type": "http", "scheme": "bearer", "description": "An API key with scopes: " + "; ".join(
            f"`{scope}`: {meaning}" for scope, meaning in SCOPES.items()
        ) + ".",
    }}
    document = closed(document)
    by_operation = operations(document)
    for exchange in exchanges:
        _show(by_operation[exchange.operation], exchange)
    _link(by_operation["openCase"])
    return dict(document)


def operations(document: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Every operation by its operationId."""
    return {
        operation["operationId"]: operation
        for path in document["paths"].values() for operation in path.values()
    }


def _show(operation: dict[str, Any], exchange: Exchange) -> None:
    """Put one exchange into its operation as examples."""
    title = "".join(word.capitalize() for word in exchange.title.replace(",", "").split())
    if exchange.media_type is not None:
        content = operation["requestBody"]["content"][exchange.media_type]
        content.setdefault("examples", {})[title] = {"summary": exchange.title, "value": exchange.body}
    answered = operation["responses"][str(exchange.status)]["content"]["application/json"]
    answered.setdefault("examples", {})[title] = {"summary": exchange.title, "value": exchange.answer}
    for parameter in operation.get("parameters", ()):
        sent = {**exchange.parameters, **exchange.headers}
        name = parameter["name"].lower() if parameter["in"] == "header" else parameter["name"]
        if name in sent:
            parameter["example"] = sent[name]


def _link(opened: dict[str, Any]) -> None:
    """Say which operations take the id of a case that was opened."""
    opened["responses"]["201"]["links"] = {
        name: {"operationId": name, "parameters": {"case_id": "$response.body#/id"}} for name in _LINKED
    }
