"""Changes of many callers: committed together, each whole or not at all, on its own."""

from __future__ import annotations

import asyncio
import sqlite3
import threading
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, event, text
from sqlalchemy.exc import IntegrityError

from api import writing
from api.database import Database, DatabaseBusy, open_database
from api.writing import Writer

Work = Callable[[Connection], Any]


class Desk:
    """A writer over a table of words, what its transactions ended with, and how many were committed."""

    def __init__(self, database: Database) -> None:
        self.database, self.commits = database, 0
        self.ended: list[Sequence[Any]] = []
        self.writer = Writer(database, lambda _, done: self.ended.append(tuple(done)))
        with database.writing() as db:
            db.execute(text("CREATE TABLE word (word text NOT NULL UNIQUE)"))
        event.listen(database.engine, "commit", self._committed)

    def _committed(self, _: object) -> None:
        self.commits += 1

    def words(self) -> list[str]:
        with self.database.reading() as db:
            return [str(word) for word, in db.execute(text("SELECT word FROM word ORDER BY word"))]

    def together(self, *works: Work) -> list[Any]:
        """What came of works that wait while another is being done, errors as they are."""
        return asyncio.run(self._together(works))

    async def _together(self, works: Sequence[Work]) -> list[Any]:
        begun, go_on = threading.Event(), threading.Event()

        def slow(_: Connection) -> None:
            begun.set()
            go_on.wait(10)

        first = asyncio.ensure_future(self.writer.done(slow))
        await asyncio.to_thread(begun.wait, 10)
        rest = [asyncio.ensure_future(self.writer.done(work)) for work in works]
        await asyncio.sleep(0)  # each has been put in the queue
        go_on.set()
        return (await asyncio.gather(first, *rest, return_exceptions=True))[1:]


def said(word: str) -> Work:
    """A change that stores a word and returns it."""
    def work(db: Connection) -> str:
        db.execute(text("INSERT INTO word VALUES (:word)"), {"word": word})
        return word

    return work


def given_up(db: Connection) -> None:
    """A change that fails after it has stored something."""
    said("half")(db)
    raise ValueError("no")


@pytest.fixture
def desk(database: Database) -> Iterator[Desk]:
    """On a database of each kind."""
    made = Desk(database)
    yield made
    made.writer.stop()


@pytest.fixture
def embedded(tmp_path: Path) -> Iterator[Desk]:
    """On SQLite."""
    database = open_database(str(tmp_path / "words.db"))
    made = Desk(database)
    yield made
    made.writer.stop()
    database.close()


def test_a_change_is_answered_with_what_it_returned(desk: Desk) -> None:
    assert desk.together(said("a"), said("b"), said("c")) == ["a", "b", "c"]
    assert desk.words() == ["a", "b", "c"]
    assert sorted(word for done in desk.ended for word in done if word) == ["a", "b", "c"]


def test_a_change_that_fails_leaves_nothing_and_takes_nobody_along(desk: Desk) -> None:
    one, failed, other, b = desk.together(said("a"), given_up, said("a"), said("b"))
    assert b == "b"
    assert isinstance(failed, ValueError)
    assert {type(one), type(other)} == {str, IntegrityError}, "the word is there once, whoever came first"
    assert desk.words() == ["a", "b"]
    assert sorted(word for done in desk.ended for word in done if word) == ["a", "b"], "told of those alone"


def test_what_waits_together_is_committed_together(embedded: Desk) -> None:
    embedded.commits = 0
    words = [f"{i:03}" for i in range(writing.MOST * 2)]
    assert embedded.together(*(said(word) for word in words)) == words
    assert embedded.words() == words
    assert embedded.commits == 3, "the one that took long leads the first 64, the next 64 follow, one is left"
    assert [len(done) for done in embedded.ended] == [writing.MOST, writing.MOST, 1]


def test_no_answer_before_the_commit(embedded: Desk) -> None:
    seen: list[list[str]] = []

    async def one() -> None:
        await embedded.writer.done(said("a"))
        seen.append(embedded.words())

    asyncio.run(one())
    assert seen == [["a"]]


def test_where_the_commit_fails_all_of_them_do(embedded: Desk) -> None:
    def fails(_: object) -> None:
        raise sqlite3.OperationalError("disk I/O error")

    event.listen(embedded.database.engine, "commit", fails)
    outcomes = embedded.together(said("a"), given_up, said("b"))
    assert [type(outcome) for outcome in outcomes] == [sqlite3.OperationalError, ValueError, sqlite3.OperationalError]
    event.remove(embedded.database.engine, "commit", fails)
    assert embedded.words() == []
    assert asyncio.run(embedded.writer.done(said("c"))) == "c", "and goes on"


def test_where_the_database_ends_the_transaction_all_of_them_fail(embedded: Desk) -> None:
    def lost(db: Connection) -> None:
        raw: Any = db.connection.driver_connection
        raw.execute("ROLLBACK")  # as SQLite does by itself when the disk is full
        raise sqlite3.OperationalError("database or disk is full")

    outcomes = embedded.together(said("a"), lost, said("b"))
    assert [str(outcome) for outcome in outcomes] == ["database or disk is full"] * 3
    assert embedded.words() == []
    assert asyncio.run(embedded.writer.done(said("c"))) == "c"
    assert embedded.words() == ["c"]


def test_whoever_waits_for_a_busy_database_is_told(embedded: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("api.database.BUSY_SECONDS", 0.05)

    async def all_of_them() -> list[Any]:
        return await asyncio.gather(*(embedded.writer.done(said(word)) for word in "abc"), return_exceptions=True)

    with embedded.database.writing():
        outcomes = asyncio.run(all_of_them())
    assert [type(outcome) for outcome in outcomes] == [DatabaseBusy] * 3
    assert asyncio.run(all_of_them()) == ["a", "b", "c"]


def test_who_gives_up_holds_nobody_up(embedded: Desk) -> None:
    async def two() -> str:
        gone = asyncio.ensure_future(embedded.writer.done(said("a")))
        await asyncio.sleep(0)
        gone.cancel()
        return await embedded.writer.done(said("b"))

    assert asyncio.run(two()) == "b"
    assert embedded.words() == ["a", "b"], "what was asked for has been done"


def test_callers_in_several_loops(embedded: Desk) -> None:
    done: list[str] = []
    threads = [
        threading.Thread(target=lambda word=word: done.append(asyncio.run(embedded.writer.done(said(word)))))
        for word in "abcd"
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(10)
    assert sorted(done) == embedded.words() == ["a", "b", "c", "d"]


def test_stopping_finishes_what_was_asked_for(embedded: Desk) -> None:
    async def asked_and_stopped() -> list[str]:
        asked = [asyncio.ensure_future(embedded.writer.done(said(word))) for word in "abc"]
        await asyncio.sleep(0)
        await asyncio.to_thread(embedded.writer.stop)
        return list(await asyncio.gather(*asked))

    assert asyncio.run(asked_and_stopped()) == ["a", "b", "c"]
    assert asyncio.run(embedded.writer.done(said("d"))) == "d", "another change starts it again"
