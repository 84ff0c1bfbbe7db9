"""The operations of the service as methods: request models in, the service's own records out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from types import TracebackType
from typing import Any, Self, TypeVar

import httpx
from pydantic import TypeAdapter

from api.client.connection import Connection
from schemas.answers import (
    AdviceAnswer,
    CaseLine,
    CasePage,
    CaseRecord,
    KitAnswer,
    PathAnswer,
    VanLoadAnswer,
)
from schemas.batches import AdviceBatch, AdviceBatchAnswer
from schemas.closeouts import Closeout, CloseoutsGiven, ImportAnswer
from schemas.document import Document
from schemas.events import EventPage, EventRecord, NewWebhook, WebhookGiven, WebhookList, WebhookRecord
from schemas.kit_requests import KitForDocument, KitForEquipment, KitWanted, VanLoadRequest
from schemas.listings import CheckAnswer, EquipmentAnswer, EquipmentList, SymptomList, TestList
from schemas.personal import PersonalData
from schemas.published import PublishAnswer
from schemas.question_requests import AnswerMatchRequest, CaseQuestionRequest, QuestionForEquipment
from schemas.requests import (
    AdviceForDocument,
    AdviceForEquipment,
    AdviceWanted,
    CaseRequest,
    ClosureRequest,
    Context,
    FindingGiven,
    FindingsRequest,
    PathForDocument,
    PathForEquipment,
    WithdrawalRequest,
)
from schemas.word_answers import AnswerMatchAnswer, EquipmentMatchesAnswer, QuestionAnswer, SymptomMatchesAnswer
from schemas.word_requests import SymptomMatchRequest

T = TypeVar("T")


_READERS: dict[type, TypeAdapter[Any]] = {}
"""How each kind of answer is read; made when it is first met."""


class Client:
    """A service at `address`, spoken to with an API key; use it in a `with` statement, or `close` it.

    Raises Refused where the service refuses, with the problem's own words, and Unreachable where no answer comes.
    What changes a case takes `version`: the change is refused (`case-changed`) if somebody changed it since.
    """

    def __init__(self, address: str, key: str | None = None, **settings: Any) -> None:
        self.connection = Connection(address, key, **settings)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the connections."""
        self.connection.close()

    # --- one question, one answer ---

    def advise(self, request: AdviceForEquipment | AdviceForDocument) -> AdviceAnswer:
        """Suspects, next test and kit for what is known; nothing is stored."""
        return self._read(AdviceAnswer, "POST", "/v1/advice", request)

    def kit(self, request: KitForEquipment | KitForDocument) -> KitAnswer:
        """What to bring for one job."""
        return self._read(KitAnswer, "POST", "/v1/kits", request)

    def van_load(self, request: VanLoadRequest) -> VanLoadAnswer:
        """What to load for a day of jobs."""
        return self._read(VanLoadAnswer, "POST", "/v1/van-loads", request)

    def path(self, request: PathForEquipment | PathForDocument) -> PathAnswer:
        """What to do for each outcome, to the end of the visit."""
        return self._read(PathAnswer, "POST", "/v1/paths", request)

    def advise_many(self, items: Sequence[AdviceForEquipment]) -> AdviceBatchAnswer:
        """Several questions at once, each answered or refused for itself."""
        batch = AdviceBatch(items=[item.model_dump(mode="json", exclude_unset=True) for item in items])
        return self._read(AdviceBatchAnswer, "POST", "/v1/advice/batches", batch)

    # --- a caller's words ---

    def machines_called(self, words: str) -> EquipmentMatchesAnswer:
        """The machines that a caller may mean."""
        return self._read(EquipmentMatchesAnswer, "GET", "/v1/equipment-matches", query={"words": words})

    def understand(self, request: SymptomMatchRequest) -> SymptomMatchesAnswer:
        """Dangers and symptoms in what was said; nothing is recorded."""
        return self._read(SymptomMatchesAnswer, "POST", "/v1/symptom-matches", request)

    def ask_next(self, request: QuestionForEquipment) -> QuestionAnswer:
        """The next question to a caller, or how the call goes on."""
        return self._read(QuestionAnswer, "POST", "/v1/questions", request)

    def ask_next_in(self, case: str, request: CaseQuestionRequest | None = None) -> QuestionAnswer:
        """The same for a case."""
        return self._read(QuestionAnswer, "POST", f"/v1/cases/{case}/questions", request or CaseQuestionRequest())

    def understand_answer(self, request: AnswerMatchRequest) -> AnswerMatchAnswer:
        """Which outcome a free answer means."""
        return self._read(AnswerMatchAnswer, "POST", "/v1/answer-matches", request)

    # --- cases ---

    def open_case(self, request: CaseRequest) -> CaseRecord:
        """Store a service call."""
        return self._read(CaseRecord, "POST", "/v1/cases", request)

    def case(self, case: str) -> CaseRecord:
        """Everything on record."""
        return self._read(CaseRecord, "GET", f"/v1/cases/{case}")

    def cases(self, **chosen: str) -> Iterator[CaseLine]:
        """Cases, newest first, page by page as they are taken; `chosen` are the filters of the list."""
        cursor: str | None = None
        while True:
            page = self._read(CasePage, "GET", "/v1/cases", query={**chosen, "cursor": cursor})
            yield from page.cases
            cursor = page.next
            if cursor is None:
                return

    def add_findings(self, case: str, findings: Sequence[FindingGiven], version: int | None = None) -> CaseRecord:
        """Record findings in the order in which they were made."""
        return self._change("POST", f"/v1/cases/{case}/findings", FindingsRequest(findings=list(findings)), version)

    def withdraw(self, case: str, number: int, why: WithdrawalRequest, version: int | None = None) -> CaseRecord:
        """Withdraw a finding; it stays on record."""
        return self._change("POST", f"/v1/cases/{case}/findings/{number}/withdrawal", why, version)

    def set_context(self, case: str, context: Context, version: int | None = None) -> CaseRecord:
        """Replace what is known besides the findings."""
        return self._change("PUT", f"/v1/cases/{case}/context", context, version)

    def close_case(self, case: str, closure: ClosureRequest, version: int | None = None) -> CaseRecord:
        """Record what was found and done."""
        return self._change("POST", f"/v1/cases/{case}/closure", closure, version)

    def case_advice(self, case: str, wanted: AdviceWanted | None = None) -> AdviceAnswer:
        """What a case's findings say."""
        query = {} if wanted is None else wanted.model_dump(mode="json")
        return self._read(AdviceAnswer, "GET", f"/v1/cases/{case}/advice", query=query)

    def case_kit(self, case: str, wanted: KitWanted | None = None) -> KitAnswer:
        """What to bring for a case."""
        return self._read(KitAnswer, "POST", f"/v1/cases/{case}/kit", wanted or KitWanted())

    # --- finished jobs ---

    def closeout(self, case: str) -> Closeout:
        """What a closed case hands over to a work-order system."""
        return self._read(Closeout, "GET", f"/v1/cases/{case}/closeout")

    def import_closeouts(self, records: Sequence[Closeout]) -> ImportAnswer:
        """Take in jobs that ended elsewhere."""
        return self._read(ImportAnswer, "POST", "/v1/closeouts", CloseoutsGiven(closeouts=list(records)))

    def personal_data(self, case: str) -> PersonalData:
        """What a case holds about people."""
        return self._read(PersonalData, "GET", f"/v1/cases/{case}/personal-data")

    def erase_personal_data(self, case: str) -> PersonalData:
        """Erase it; what is left."""
        return self._read(PersonalData, "DELETE", f"/v1/cases/{case}/personal-data")

    # --- what happened ---

    def events(self, after: int = 0) -> Iterator[EventRecord]:
        """The feed from a place on, to its present end; `sequence` of the last is where to go on later."""
        while True:
            page = self._read(EventPage, "GET", "/v1/events", query={"after": after})
            yield from page.events
            if not page.events:
                return
            after = page.next

    def add_webhook(self, request: WebhookGiven) -> NewWebhook:
        """Have an address told of events; its secret is shown this once."""
        return self._read(NewWebhook, "POST", "/v1/webhooks", request)

    def webhooks(self) -> WebhookList:
        """Everybody who is told."""
        return self._read(WebhookList, "GET", "/v1/webhooks")

    def remove_webhook(self, webhook: str) -> WebhookRecord:
        """Tell somebody nothing more."""
        return self._read(WebhookRecord, "DELETE", f"/v1/webhooks/{webhook}")

    # --- machines ---

    def equipment(self) -> EquipmentList:
        """The machines the service knows."""
        return self._read(EquipmentList, "GET", "/v1/equipment")

    def machine(self, equipment: str) -> EquipmentAnswer:
        """One machine: what to know before asking."""
        return self._read(EquipmentAnswer, "GET", f"/v1/equipment/{equipment}")

    def symptoms(self, equipment: str) -> SymptomList:
        """What callers may report."""
        return self._read(SymptomList, "GET", f"/v1/equipment/{equipment}/symptoms")

    def tests(self, equipment: str) -> TestList:
        """What can be checked, and how."""
        return self._read(TestList, "GET", f"/v1/equipment/{equipment}/tests")

    def check(self, document: bytes, media_type: str = "application/yaml") -> CheckAnswer:
        """Whether a graph document can be used, with every defect."""
        answer = self.connection.request(
            "POST", "/v1/graph-checks", content=document, headers={"content-type": media_type})
        return self._of(CheckAnswer, answer)

    def publish(self, equipment: str, document: Document, newest: str, *, dry_run: bool = False) -> PublishAnswer:
        """Publish a graph as the tenant's own; `newest` is the digest it follows, or `*` for whichever it is."""
        tag = newest if newest == "*" else f'"{newest}"'
        return self._read(PublishAnswer, "POST", f"/v1/equipment/{equipment}/revisions", document,
                          query={"dry_run": str(dry_run).lower()}, headers={"if-match": tag})

    def _change(self, method: str, path: str, body: object, version: int | None) -> CaseRecord:
        tag = "*" if version is None else f'"{version}"'
        return self._read(CaseRecord, method, path, body, headers={"if-match": tag})

    def _read(
        self, kind: type[T], method: str, path: str, body: object = None, *,
        query: Mapping[str, Any] | None = None, headers: Mapping[str, str] | None = None,
    ) -> T:
        return self._of(kind, self.connection.request(method, path, body, query=query, headers=headers))

    def _of(self, kind: type[T], answer: httpx.Response) -> T:
        if kind not in _READERS:
            _READERS[kind] = TypeAdapter(kind)
        read: T = _READERS[kind].validate_json(answer.content)
        return read
