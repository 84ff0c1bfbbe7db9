"""The thread that tells subscribers: takes what is due, calls, and notes what came of it.

Several workers may do so beside each other: a delivery that one has taken is left alone by the others until the
call must have ended. A worker that dies in between leaves a delivery that is made again; so every event arrives at
least once, and carries its id.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta
from threading import Event, Thread

from api.clock import Clock, written
from api.database import Database
from api.storage import events, webhooks
from api.storage.webhooks import DELIVERED, GIVEN_UP, WAITING, Due, Subscriber
from api.webhooks.addresses import Forbidden, Resolve, resolved, target
from api.webhooks.calling import Outcome, call
from api.webhooks.schedule import next_delay

LEASE = timedelta(seconds=60)
AT_ONCE = 8
POLL_SECONDS = 1.0
TIDY_EVERY = timedelta(hours=1)
_LOG = logging.getLogger("halfsplit.webhooks")


class Deliverer:
    """Delivers what is due. `keep` is how long events and their log are kept."""

    def __init__(
        self, database: Database, clock: Clock, *, local: bool = False, keep: timedelta = timedelta(days=30),
        resolve: Resolve = resolved,
    ) -> None:
        self._database, self._clock, self._local, self._keep, self._resolve = database, clock, local, keep, resolve
        self._tidied = clock() - TIDY_EVERY
        self._stop, self._nudged = Event(), Event()
        self._thread: Thread | None = None

    def start(self) -> None:
        """Begin to deliver, in a thread."""
        self._thread = Thread(target=self._run, name="webhooks", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End after the calls that are under way."""
        self._stop.set()
        self._nudged.set()
        if self._thread is not None:
            self._thread.join(timeout=20)

    def nudge(self) -> None:
        """Say that something happened just now."""
        self._nudged.set()

    def _run(self) -> None:
        with ThreadPoolExecutor(AT_ONCE, "webhook-call") as calls:
            while not self._stop.is_set():
                self._nudged.wait(POLL_SECONDS)
                self._nudged.clear()
                try:
                    self._tidy()
                    while not self._stop.is_set() and self.deliver(lambda due: calls.map(self._one, due)):
                        pass
                except Exception as error:  # the database may be away; it comes back
                    _LOG.warning("deliveries wait: %s", type(error).__name__)

    def deliver(self, each: Callable[[list[Due]], object] | None = None) -> int:
        """Deliver once what is due now; how much that was."""
        now = self._clock()
        if not self._database.read(lambda db: webhooks.anything_due(db, written(now))):
            return 0
        due = self._database.write(
            lambda db: webhooks.take_due(db, written(now), written(now + LEASE), AT_ONCE))
        list((each or (lambda taken: map(self._one, taken)))(due))  # type: ignore[call-overload]
        return len(due)

    def _tidy(self) -> None:
        now = self._clock()
        if now - self._tidied >= TIDY_EVERY:
            self._tidied = now
            self._database.write(lambda db: webhooks.forget(db, written(now - self._keep)))

    def _one(self, due: Due) -> None:
        subscriber, body = self._database.read(lambda db: (
            webhooks.read(db, due.tenant, due.webhook), events.body(db, due.tenant, due.event)))
        if body is not None:
            self._note(due, self._called(due, subscriber, body))

    def _called(self, due: Due, subscriber: Subscriber, body: bytes) -> Outcome:
        from api.webhooks.signing import signed_headers  # what signs brings an HTTP client along

        now = self._clock()
        try:
            to = target(subscriber.url, self._local, self._resolve)
        except Forbidden as why:
            return Outcome(None, str(why), 0)
        return call(to, body, signed_headers(due.event, body, now, subscriber.signing(written(now))))

    def _note(self, due: Due, outcome: Outcome) -> None:
        now, gone = self._clock(), outcome.status == 410
        wait = None if outcome.delivered or gone else next_delay(
            due.attempts, due.event + due.webhook, outcome.retry_after)
        state = DELIVERED if outcome.delivered else GIVEN_UP if wait is None else WAITING
        with self._database.writing() as db:
            if gone:  # first of all, so that several calls that end so wait for each other
                subscriber = webhooks.read(db, due.tenant, due.webhook, to_change=True)
                webhooks.change(db, replace(subscriber, disabled=written(now), reason="it answered 410 Gone"))
            webhooks.log(db, due, written(now), outcome.status, outcome.said, outcome.milliseconds)
            webhooks.settle(db, due, state, None if wait is None else written(now + wait))
