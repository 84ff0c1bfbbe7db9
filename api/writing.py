"""Writing for many callers at once: on SQLite, what waits together is committed together.

A commit with full synchronisation waits for the disk, and SQLite has one writer. So one thread does all changes, one
after another: whatever waits when it begins shares one transaction, each with a savepoint of its own, and nobody is
answered before the commit. PostgreSQL gathers commits by itself; there each change has its own transaction.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from queue import Empty, SimpleQueue
from threading import Lock, Thread
from typing import Any, TypeVar

from sqlalchemy import Connection
from starlette.concurrency import run_in_threadpool

from api.database import Database

MOST = 64
"""Changes that are committed together."""
T = TypeVar("T")


@dataclass(slots=True)
class _Order:
    """A change that somebody waits for, and what came of it."""

    work: Callable[[Connection], Any]
    loop: asyncio.AbstractEventLoop
    future: asyncio.Future[Any]
    result: Any = None
    error: BaseException | None = None

    def tell(self) -> None:
        """Let whoever waits go on; in their loop."""
        if self.future.done():  # they gave up; what was done is done
            return
        if self.error is None:
            self.future.set_result(self.result)
        else:
            self.future.set_exception(self.error)


class Writer:
    """Does changes and commits them. `done` may be called from several event loops.

    `last` is what is to be done at the end of every transaction, given what the changes in it returned.
    """

    def __init__(self, database: Database, last: Callable[[Connection, Sequence[Any]], None]) -> None:
        self._database, self._last = database, last
        self._orders: SimpleQueue[_Order | None] = SimpleQueue()
        self._thread: Thread | None = None
        self._starting = Lock()

    async def done(self, work: Callable[[Connection], T]) -> T:
        """What `work` returns, committed. Raises what it raises, whereupon nothing of it is left, or DatabaseBusy."""
        if not self._database.embedded:
            return await run_in_threadpool(self._database.write, lambda db: self._alone(db, work))
        loop = asyncio.get_running_loop()
        future: asyncio.Future[T] = loop.create_future()
        self._orders.put(_Order(work, loop, future))
        if self._thread is None:
            self._start()
        return await future

    def stop(self) -> None:
        """Finish what was asked for and end the thread; another `done` starts one again."""
        with self._starting:
            if self._thread is not None:
                self._orders.put(None)
                self._thread.join()
                self._thread = None

    def _alone(self, db: Connection, work: Callable[[Connection], T]) -> T:
        result = work(db)
        self._last(db, [result])
        return result

    def _start(self) -> None:
        with self._starting:
            if self._thread is None:
                self._thread = Thread(target=self._run, name="writer", daemon=True)
                self._thread.start()

    def _run(self) -> None:
        while (first := self._orders.get()) is not None:
            _tell(self._together(first))

    def _together(self, first: _Order) -> list[_Order]:
        """Do what waits, in one transaction. Where that fails, all of it fails."""
        orders = [first]
        try:
            with self._database.writing() as db:
                _do(db, first)
                while len(orders) < MOST and (following := self._waiting()) is not None:
                    orders.append(following)
                    _do(db, following)
                self._last(db, [order.result for order in orders if order.error is None])
        except Exception as error:  # the transaction is gone: it could not begin, go on or be committed
            while len(orders) < MOST and (following := self._waiting()) is not None:
                orders.append(following)  # they waited as long for the same
            for order in orders:
                order.error = order.error or error
        return orders

    def _waiting(self) -> _Order | None:
        try:
            order = self._orders.get_nowait()
        except Empty:
            return None
        if order is None:  # the end: after what came before it
            self._orders.put(None)
        return order


def _do(db: Connection, order: _Order) -> None:
    """Do one change, or leave nothing of it. Raises where the whole transaction was lost by it.

    The savepoint is set by the driver itself, where it costs next to nothing.
    """
    connection: Any = db.connection.driver_connection
    connection.execute("SAVEPOINT change")
    try:
        order.result = order.work(db)
    except Exception as error:
        order.error = error
        if not connection.in_transaction:  # SQLite ended it by itself, as it does when the disk is full
            raise
        connection.execute("ROLLBACK TO change")
    connection.execute("RELEASE change")


def _tell(orders: Sequence[_Order]) -> None:
    """Let everybody go on, with one call for each loop."""
    for loop in {order.loop for order in orders}:
        try:
            loop.call_soon_threadsafe(_tell_all, [order for order in orders if order.loop is loop])
        except RuntimeError:  # the loop has ended, and nobody waits any more
            continue


def _tell_all(orders: Sequence[_Order]) -> None:
    for order in orders:
        order.tell()
