"""Cases and graphs on both databases, below the routes."""

from __future__ import annotations

import pytest
from sqlalchemy import Connection

from api.database import Database
from api.example_graph import TEXT
from api.examples import example_clock, example_names
from api.identity import case_names
from api.models import Canonical, Models
from api.problems import Refusal
from api.storage import cases, graphs
from api.storage.cases import CaseFilter
from api.tables import SHARED
from schemas.answers import CaseRecord, GraphStamp
from schemas.document import Document
from schemas.requests import CaseRequest, ClosureRequest, Context, FindingGiven, WithdrawalRequest
from schemas.source import parse

GRAPH = Canonical.of(Document.model_validate(parse(TEXT).data))
COLD = FindingGiven(about="water_cold", outcome="present")
NAME = "01m88z3x6604tztnsprqx9gak9"


def opened(db: Connection, name: str = NAME, tenant: str = "one", now: str = "2026-03-02T08:15:00.000Z") -> CaseRecord:
    number = graphs.loaded(db, SHARED, "quillmere-u2", GRAPH, now)
    stamp = GraphStamp("quillmere-u2", number, GRAPH.digest)
    request = CaseRequest(equipment="quillmere-u2", findings=[COLD], metadata={"route": "north"})
    return cases.add(db, tenant, name, request, stamp, now)


def test_what_a_change_returns_is_what_is_read_back(database: Database) -> None:
    def read() -> CaseRecord:
        return database.read(lambda db: cases.read(db, "one", NAME))

    case = database.write(opened)
    assert read() == case
    case = database.write(lambda db: cases.append(db, case, [COLD, COLD], "t2"))
    assert read() == case
    slip = WithdrawalRequest(reason="slip", by="N. Fitter")
    case = database.write(lambda db: cases.withdraw(db, case, 2, slip, "t3"))
    assert read() == case
    case = database.write(lambda db: cases.set_context(db, case, Context(conditions={"water": "hard"}), "t4"))
    assert read() == case
    case = database.write(lambda db: cases.close(db, case, ClosureRequest(found="unlisted", minutes=3), "t5"))
    assert read() == case
    assert (case.version, case.status, case.updated, len(case.findings)) == (5, "closed", "t5", 3)


def test_a_change_of_an_old_version_is_refused(database: Database) -> None:
    case = database.write(opened)
    after = database.write(lambda db: cases.append(db, case, [COLD], "t"))
    with pytest.raises(Refusal, match="no longer the newest"):
        database.write(lambda db: cases.append(db, case, [COLD], "t"))
    assert database.read(lambda db: cases.read(db, "one", NAME)) == after


def test_another_tenant_finds_nothing(database: Database) -> None:
    database.write(opened)
    with pytest.raises(Refusal, match="there is no case"):
        database.read(lambda db: cases.read(db, "other", NAME))
    assert database.read(lambda db: cases.page(db, "other", CaseFilter(), None, 10)).cases == ()


def test_changes_are_listed_once_and_in_order(database: Database) -> None:
    name = example_names(example_clock())
    names = [name() for _ in range(5)]
    for i, n in enumerate(names):
        database.write(lambda db, n=n, i=i: opened(db, n, now=f"2026-03-02T08:15:0{i // 2}.000Z"))  # type: ignore[misc]
    case = database.read(lambda db: cases.read(db, "one", names[0]))
    database.write(lambda db: cases.append(db, case, [COLD], "2026-03-02T09:00:00.000Z"))
    since, cursor, seen = "2026-03-02T08:15:00.000Z", None, []
    while True:
        chosen = CaseFilter(changed_since=since)
        page = database.read(lambda db: cases.page(db, "one", chosen, cursor, 2))  # noqa: B023
        seen += [c.id for c in page.cases]
        assert page.changed_since is not None
        since, cursor = page.changed_since, page.next
        if cursor is None:
            break
    assert seen == [names[1], *sorted(names[2:4]), names[4], names[0]]


def test_a_document_is_one_revision_however_often_it_is_loaded(database: Database) -> None:
    other = Canonical.of(Document.model_validate(parse(TEXT.replace("price: 61", "price: 62")).data))
    numbers = [
        database.write(lambda db, g=g: graphs.loaded(db, SHARED, "quillmere-u2", g, "t"))  # type: ignore[misc]
        for g in (GRAPH, GRAPH, other, GRAPH)
    ]
    assert numbers == [1, 1, 2, 1]
    assert database.read(lambda db: graphs.document(db, other.digest)) == other


def test_the_canonical_form_reads_back_as_itself() -> None:
    assert Canonical.of(GRAPH.document()) == GRAPH


def test_case_names_sort_by_time_and_never_repeat() -> None:
    name = case_names(example_clock())
    names = [name() for _ in range(200)]
    assert names == sorted(set(names))
    assert all(len(n) == 26 and n.isascii() for n in names)


def test_the_models_last_used_are_kept_in_a_bounded_room() -> None:
    texts = [TEXT.replace("price: 61", f"price: {n}") for n in (11, 22, 33)]
    canonicals = [Canonical.of(Document.model_validate(parse(text).data)) for text in texts]
    size = Models(10**9).compiled(canonicals[0], 1000).bytes
    models = Models(most_bytes=2 * size)
    kept = [models.compiled(g, 1000) for g in canonicals]
    assert models.kept(canonicals[0].digest) is None
    assert models.kept(canonicals[2].digest) is kept[2] is models.compiled(canonicals[2], 1000)
    assert models.bytes == kept[1].bytes + kept[2].bytes <= 2 * size
