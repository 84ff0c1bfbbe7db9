"""How operations say in the OpenAPI document which problems and headers their answers have."""

from __future__ import annotations

from typing import Any

from fastapi.routing import APIRoute
from fastapi.utils import create_model_field

from api.problems import MEDIA_TYPE, PROBLEMS

Responses = dict[int | str, dict[str, Any]]
_BODY = ("not-json", "body-too-large", "unsupported-content-type", "invalid-request")
ETAG = {"ETag": {"description": "the version of the case", "required": True, "schema": {"type": "string"}}}
DIGEST = {"Graph-Digest": {
    "description": "SHA-256 of the graph document the answer rests on", "required": True, "schema": {"type": "string"},
}}
REVISION = {"Graph-Revision": {
    "description": "revision of the graph; absent for a graph sent with the request", "schema": {"type": "integer"},
}}
LOCATION = {"Location": {"description": "where the new case is", "required": True, "schema": {"type": "string"}}}
LINK = {"Link": {"description": "rel=\"next\": the following page", "schema": {"type": "string"}}}
IF_NONE_MATCH = {
    "name": "If-None-Match", "in": "header", "required": False, "schema": {"type": "string"},
    "description": "an ETag you hold: while it is current the answer is 304 without a body",
}
CONDITIONAL = (
    " Send the case's ETag as `If-Match` to make sure that nobody changed it since you read it: if somebody did, "
    "the answer is 412 and nothing is stored."
)


def refusals(*codes: str, body: bool = False, parameters: bool = False) -> Responses:
    """The problem responses of an operation, by status, each naming its problem types."""
    of_status: dict[int, list[str]] = {}
    named = [*codes, *(_BODY if body else ("invalid-request",) if parameters else ()), "internal-error"]
    for code in dict.fromkeys(named):
        of_status.setdefault(PROBLEMS[code].status, []).append(code)
    return {status: _response(found) for status, found in sorted(of_status.items())}


def _response(codes: list[str]) -> dict[str, Any]:
    return {
        "description": "; ".join(f"{PROBLEMS[code].title} (`{code}`)" for code in codes),
        "content": {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}},
    }


def headers(*kinds: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """A response that carries these headers."""
    return {"headers": {name: kind for group in kinds for name, kind in group.items()}}


NOT_MODIFIED: dict[str, Any] = {"description": "You already have this version.", **headers(ETAG)}


class AnswerRoute(APIRoute):
    """A route whose answer's model is looked at only when the OpenAPI document is built.

    Answers go out as they are, so nothing needs their schema before; reading the records' docstrings for it
    would double the time that the service takes to start. FastAPI must not find it in `response_model`, from which it
    makes a schema with the first request.
    """

    def __init__(self, *given: Any, response_model: Any = None, **more: Any) -> None:
        super().__init__(*given, response_model=None, **more)
        self.answer_model = response_model

    def describe(self) -> None:
        """Give the OpenAPI generator the schema of the answer."""
        if self.answer_model is not None and self.response_field is None:
            self.response_field = create_model_field(
                name=f"Response_{self.unique_id}", type_=self.answer_model, mode="serialization",
            )
