"""Pages for people: what each problem means, and the API reference."""

from __future__ import annotations

from html import escape

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse

from api.answering import answer
from api.model_tools.functions import functions
from api.page import page
from api.problems import PROBLEMS, Refusal
from api.reference import reference
from graph.errors import nearest_name
from schemas.problems import ProblemItem

router = APIRouter(include_in_schema=False)


@router.get("/problems")
async def list_problems() -> HTMLResponse:
    """Every problem type."""
    rows = "".join(
        f'<tr><td>{kind.status}</td><td><a href="/problems/{code}"><code>{code}</code></a></td>'
        f"<td>{escape(kind.title)}</td></tr>"
        for code, kind in sorted(PROBLEMS.items(), key=lambda pair: (pair[1].status, pair[0]))
    )
    return HTMLResponse(page("Problems", (
        "<main><h1>Problems</h1><p>Every way in which this service declines a request.</p>"
        f"<table><tr><th>Status</th><th>Code</th><th>Title</th></tr>{rows}</table></main>"
    )))


@router.get("/problems/{code}")
async def read_problem(code: str) -> HTMLResponse:
    """What one problem type means and what to do."""
    if code not in PROBLEMS:
        detail = f"there is no problem type {code[:80]!r}"
        raise Refusal("unknown-problem", detail, [ProblemItem("", detail, None, nearest_name(code, PROBLEMS), "code")])
    kind = PROBLEMS[code]
    return HTMLResponse(page(kind.title, (
        f'<main><p class="dim"><a href="/problems">Problems</a> · <code>{code}</code> · status {kind.status}</p>'
        f"<h1>{escape(kind.title)}</h1><p>{escape(kind.meaning)}</p>"
        f"<h4>What to do</h4><p>{escape(kind.remedy)}</p></main>"
    )))


@router.get("/reference")
async def read_reference(request: Request) -> HTMLResponse:
    """The API reference, made from the OpenAPI document."""
    return HTMLResponse(reference(request.app.openapi()))


@router.get("/reference/lint")
async def read_lint_rules() -> HTMLResponse:
    """The rules behind the warnings of a check."""
    from api.lint_reference import lint_reference

    return HTMLResponse(lint_reference())


@router.get("/functions.json")
async def read_functions(request: Request) -> Response:
    """Function definitions for language models that don't speak the Model Context Protocol."""
    return answer(functions(request.app.openapi()))
