"""Every refusal this service can make, in one table: code, status, what it means, what to do.

The core's errors carry a code and know nothing of HTTP; here is where each gets its status.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from graph.errors import DocumentError, HalfsplitError
from schemas.problems import Problem, ProblemItem

MEDIA_TYPE = "application/problem+json"


@dataclass(frozen=True, slots=True)
class ProblemKind:
    """One kind of refusal; `meaning` and `remedy` are for its page."""

    status: int
    title: str
    meaning: str
    remedy: str


PROBLEMS: Mapping[str, ProblemKind] = MappingProxyType({
    "not-json": ProblemKind(
        400, "The body is not JSON",
        "The body could not be read as JSON: broken syntax, no body at all, text that is not UTF-8, half of a "
        "surrogate pair, or brackets nested without end.",
        "Send one JSON value in UTF-8. The detail says where reading stopped.",
    ),
    "bad-request": ProblemKind(
        400, "The request can't be read", "The HTTP request itself is not well formed.",
        "Check how the request is put together.",
    ),
    "invalid-request": ProblemKind(
        422, "The request doesn't fit its schema",
        "A field is missing, unknown, of the wrong type or out of range. Every defect is listed with its place.",
        "Correct each entry of errors; the OpenAPI document at /openapi.json says what each field may hold.",
    ),
    "unsupported-content-type": ProblemKind(
        415, "The body's content type is not supported",
        "The Content-Type header is missing or names a format or a charset this operation doesn't read, or the body is "
        "packed (Content-Encoding).",
        "Send Content-Type: application/json in UTF-8, not packed (a graph check also reads application/yaml and "
        "text/yaml, an import of a table text/csv).",
    ),
    "body-too-large": ProblemKind(
        413, "The body is too large", "The body is larger than this service reads. Nothing of it was used.",
        "Send less; a graph sent again and again is better stored as equipment.",
    ),
    "not-found": ProblemKind(
        404, "There is nothing at this address", "No operation has this path.",
        "The operations are listed at /reference.",
    ),
    "method-not-allowed": ProblemKind(
        405, "This method doesn't exist here", "The address exists, but not with this HTTP method.",
        "The Allow header lists the methods that do.",
    ),
    "no-key": ProblemKind(
        401, "A valid key is needed",
        "The Authorization header is missing or not of the form Bearer KEY, or the key is unknown, expired or revoked.",
        "Send Authorization: Bearer KEY. Whoever runs the service makes keys with halfsplit key create.",
    ),
    "scope-missing": ProblemKind(
        403, "The key's scopes don't cover this", "The key is valid, but was not made for this operation.",
        "Use a key with the scope that the detail names; each operation says which it needs.",
    ),
    "too-many-requests": ProblemKind(
        429, "Too many requests", "The key has used up its share. Nothing was done.",
        "Wait as many seconds as Retry-After says; RateLimit shows what is left, RateLimit-Policy the share.",
    ),
    "unknown-equipment": ProblemKind(
        404, "There is no such equipment", "No graph with this id is loaded.",
        "GET /v1/equipment lists the ids; nearest is the one most like yours.",
    ),
    "unknown-case": ProblemKind(
        404, "There is no such case", "No case has this id.", "Use the id that creating the case returned.",
    ),
    "unknown-revision": ProblemKind(
        404, "There is no such revision", "You published no revision of this equipment with this number.",
        "GET /v1/equipment/{id}/revisions lists those that there are.",
    ),
    "unknown-finding": ProblemKind(
        404, "There is no such finding", "The case has no finding with this number.",
        "GET the case: its findings are numbered from 1.",
    ),
    "unknown-name": ProblemKind(
        404, "A name that this machine's graph doesn't have",
        "A symptom, test, remedy, outcome, condition, state, part or failure mode is not in this machine's graph.",
        "expected lists the names that are; nearest is the one most like yours.",
    ),
    "finding-misfit": ProblemKind(
        409, "The parts of a finding don't belong together",
        "Every name exists, but not together: a series of outcomes for a remedy, for example.",
        "Record what each observation can show; expected says what that is.",
    ),
    "truth-misfit": ProblemKind(
        409, "Failure modes that are never there together",
        "Every failure mode exists, but no hypothesis of this machine has all of them: too many at once, or two of a "
        "component that exclude each other.",
        "Name the failure modes that were there; expected says how many this graph allows.",
    ),
    "unit-misfit": ProblemKind(
        409, "A unit of something else",
        "A reading is in a unit of another quantity than the test asks for: a temperature for a temperature "
        "difference, ohms for volts.",
        "Give the reading in a unit that expected names; gauge and absolute pressure are told apart by their unit.",
    ),
    "currency-mismatch": ProblemKind(
        409, "Costs and prices are in different currencies",
        "The economics are in another currency than the parts of this machine, and nothing converts them.",
        "Give costs in the machine's currency, or leave currency out.",
    ),
    "kit-infeasible": ProblemKind(
        409, "No kit fits", "What must be brought doesn't fit the limits, or can't be had.",
        "Widen the limit that is named, or leave the part out of must_bring.",
    ),
    "graph-not-usable": ProblemKind(
        409, "The graph document can't be used",
        "The document has the right shape, but its names don't fit together. Every defect is listed.",
        "Correct each entry of errors; POST /v1/graph-checks says the same with line numbers.",
    ),
    "graph-too-large": ProblemKind(
        409, "The graph has too many hypotheses",
        "So many failure modes, or so many at once, can't be weighed in the time of a request.",
        "Lower most_faults, or store the graph as equipment, where the limit is higher.",
    ),
    "case-closed": ProblemKind(
        409, "The case is closed", "A closed case can be read but no longer changed.",
        "Open a new case; its external_id may name the same job.",
    ),
    "case-full": ProblemKind(
        409, "The case has too many findings", "A case holds a limited number of findings, withdrawn ones included.",
        "Close it and open a new one with the findings that still count.",
    ),
    "already-withdrawn": ProblemKind(
        409, "The finding is already withdrawn", "A finding can be withdrawn once.", "Nothing needs to be done.",
    ),
    "case-changed": ProblemKind(
        412, "The case has changed since you read it",
        "The If-Match header names an older version of the case. Nothing was changed.",
        "GET the case, look at what is new, and send the change again with the new ETag.",
    ),
    "revision-changed": ProblemKind(
        412, "Somebody else changed it since you read it",
        "If-Match names what is no longer the newest, or If-None-Match: * was sent and there is something. Nothing was "
        "changed.",
        "Read it again, see what is new, and send the change with the new ETag.",
    ),
    "precondition-required": ProblemKind(
        428, "The change needs If-Match",
        "This operation replaces what somebody else may have changed, so it has to say what it replaces.",
        "Send the ETag you read as If-Match, or If-Match: * to replace whatever is there. For the first of its kind "
        "send If-None-Match: *.",
    ),
    "equipment-mismatch": ProblemKind(
        409, "The document is of another equipment", "The id in the document isn't the one in the address.",
        "Send the document to the address of its own equipment.",
    ),
    "bad-idempotency-key": ProblemKind(
        400, "The Idempotency-Key can't be used", "It is not 1 to 200 printable ASCII characters without spaces.",
        "Send a key of your own making, unique for each thing to be done, such as a UUID.",
    ),
    "key-reused": ProblemKind(
        422, "The Idempotency-Key came with another request",
        "This key was used for this operation with another address or body. Nothing was done.",
        "Make a new key for each new thing to be done; send the same key only with the very same request.",
    ),
    "in-flight": ProblemKind(
        409, "The same request is being carried out", "A request with this Idempotency-Key has not ended yet.",
        "Send it again after Retry-After seconds; it will be answered as the first one was.",
    ),
    "storage-busy": ProblemKind(
        503, "The database is busy", "Others were writing for longer than a request waits. Nothing was done.",
        "Send the request again after Retry-After seconds.",
    ),
    "storage-unavailable": ProblemKind(
        503, "The database can't be used",
        "It can't be reached, or can't be written. A change may have been made if the connection was lost at the end.",
        "Send the request again after Retry-After seconds, changes with the same Idempotency-Key as before.",
    ),
    "storage-full": ProblemKind(
        507, "There is no room to store this", "The database's disk is full. Nothing was done.",
        "Send the request again once whoever runs the service has made room.",
    ),
    "case-open": ProblemKind(
        409, "The case is open", "Only a closed case has something to hand over.", "Close it first.",
    ),
    "not-a-table": ProblemKind(
        409, "The table can't be read", "The body is no CSV table of finished jobs, or some cells don't fit.",
        "Correct each entry of errors; GET /v1/closeouts?form=csv shows what a table looks like.",
    ),
    "closeouts-misfit": ProblemKind(
        409, "Some records don't fit their machines",
        "Names in these records are not in the graphs of their machines. Nothing was stored.",
        "Correct each entry of errors, or leave those records out.",
    ),
    "unknown-webhook": ProblemKind(
        404, "There is no such webhook", "No webhook of yours has this id.", "GET /v1/webhooks lists them.",
    ),
    "webhook-address": ProblemKind(
        409, "Events can't be sent to this address",
        "Events go to https addresses whose name stands for public addresses only, never into a private network.",
        "Give an address that anybody on the Internet could call.",
    ),
    "too-many-webhooks": ProblemKind(
        409, "There are too many webhooks", "A limited number of addresses can be told of events.",
        "Remove one that is no longer used.",
    ),
    "events-forgotten": ProblemKind(
        410, "Events were missed", "The feed no longer holds what followed the place you asked from.",
        "List the cases with changed_since, then go on with after=0 or a newer place.",
    ),
    "unknown-problem": ProblemKind(
        404, "There is no such problem", "No problem type has this code.", "The codes are listed at /problems.",
    ),
    "not-ready": ProblemKind(
        503, "The service is not ready", "The database doesn't answer.", "Try again in a moment.",
    ),
    "internal-error": ProblemKind(
        500, "Something went wrong inside", "This is a defect of the service, not of your request.",
        "Try again; if it stays, report the request that caused it.",
    ),
})


class Refusal(Exception):
    """A request that is not answered; `code` is a key of `PROBLEMS`."""

    def __init__(
        self, code: str, detail: str, errors: Iterable[ProblemItem] = (), headers: Mapping[str, str] | None = None
    ) -> None:
        self.code, self.kind = code, PROBLEMS[code]
        self.detail, self.errors, self.headers = detail, tuple(errors), dict(headers or {})
        super().__init__(detail)

    def problem(self, instance: str, request_id: str) -> Problem:
        """The refusal as problem details."""
        return Problem(
            f"/problems/{self.code}", self.kind.title, self.kind.status, sound(self.detail), instance,
            tuple(
                ProblemItem(
                    sound(e.pointer), sound(e.detail), e.expected and sound(e.expected), e.nearest, e.parameter
                )
                for e in self.errors
            ),
            request_id,
        )


def refusal_of(error: HalfsplitError, prefix: str = "") -> Refusal:
    """What the core refused, as a refusal of the service. `prefix` is where its document stood in the body."""
    if isinstance(error, DocumentError):
        return Refusal(error.code, error.detail, [
            ProblemItem(prefix + d.pointer, f"{d.code}: found {d.found}", d.expected, d.nearest) for d in error.defects
        ])
    item = ProblemItem(prefix + error.pointer, error.detail, error.expected, error.nearest)
    return Refusal(error.code, error.detail, [item])


def sound(text: str) -> str:
    """Text that UTF-8 can carry: half a surrogate pair is written as its escape."""
    return text.encode("utf-8", "backslashreplace").decode()
