"""Changes: one transaction for the effect and the answer that is kept for a request that comes again."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

from fastapi import Request, Response
from sqlalchemy import Connection

from api.answering import encoded
from api.clock import Clock, written
from api.documented import KEY_PATTERN
from api.exchange import exchange_of
from api.identity import Names
from api.problems import Refusal
from api.service import Service, caller_of, service_of
from api.storage import events, repeats
from api.storage.events import Happening
from api.storage.repeats import Repeatable, Reply

KEPT = timedelta(days=7)
"""How long an answer is kept for a request that comes again."""


@dataclass(frozen=True, slots=True)
class Effect:
    """What a change did: its kind, what it was done to, and the record that is answered.

    `told` is what an event says of it, besides the subject; None where there is nothing to tell.
    """

    kind: str
    subject: str
    record: object
    status: int = 200
    headers: Mapping[str, str] = field(default_factory=dict)
    told: Mapping[str, Any] | None = None


Work = Callable[[Connection], Effect]
"""Does the change in a transaction that somebody else commits."""


async def carried_out(request: Request, prepare: Callable[[], Awaitable[Work]]) -> Response:
    """The answer to a change, which has then been committed.

    `prepare` gets ready what needs no transaction, such as a compiled graph. A request with an Idempotency-Key that
    was carried out before gets the stored answer, to the byte, and nothing is done.
    """
    service, tenant = service_of(request), caller_of(request).tenant
    repeatable = await _repeatable(request)
    if repeatable is None:
        return _sent(await _done(service, tenant, await prepare(), None))
    if repeatable.place in service.under_way:
        raise repeats.in_flight()
    service.under_way.add(repeatable.place)
    try:
        stored = await service.read(lambda db: repeats.find(db, repeatable))
        return _sent(stored or await _done(service, tenant, await prepare(), repeatable))
    finally:
        service.under_way.discard(repeatable.place)


@dataclass(frozen=True, slots=True)
class _Step:
    """What was done in a transaction, and what is to be told of it; `kind` is None where it was done before."""

    tenant: str
    reply: Reply
    kind: str | None = None
    happened: Happening | None = None


async def _done(service: Service, tenant: str, work: Work, repeatable: Repeatable | None) -> Reply:
    step = await service.writer.done(lambda db: _step(service, tenant, db, work, repeatable))
    if step.kind is not None:
        service.measures.changed(step.kind)
        if service.deliverer is not None:
            service.deliverer.nudge()
    return step.reply


def _step(service: Service, tenant: str, db: Connection, work: Work, repeatable: Repeatable | None) -> _Step:
    """Effect and answer in one transaction: whatever must be committed with a change belongs here."""
    if repeatable is not None:
        repeats.claim(db, repeatable)
        stored = repeats.find(db, repeatable)
        if stored is not None:
            return _Step(tenant, stored)
    effect = work(db)
    reply = Reply(effect.status, effect.headers, encoded(effect.record))
    if repeatable is not None:
        repeats.keep(db, repeatable, reply, written(service.clock()), effect.subject)
        if service.time_to_forget():
            repeats.forget(db, written(service.clock() - KEPT))
    told = None if effect.told is None else Happening(f"halfsplit.{effect.kind}", effect.subject, effect.told)
    return _Step(tenant, reply, effect.kind, told)


def telling(clock: Clock, names: Names) -> Callable[[Connection, Sequence[object]], None]:
    """What writes the events of all steps of a transaction, at its end: those of a tenant wait for each other there."""

    def tell(db: Connection, done: Sequence[object]) -> None:
        happened: dict[str, list[Happening]] = {}
        for step in done:
            if isinstance(step, _Step) and step.happened is not None:
                happened.setdefault(step.tenant, []).append(step.happened)
        for tenant in sorted(happened):
            theirs = happened[tenant]
            events.add(db, tenant, [names() for _ in theirs], theirs, written(clock()))

    return tell


async def _repeatable(request: Request) -> Repeatable | None:
    given = request.headers.get("idempotency-key")
    if given is None:
        return None
    if re.fullmatch(KEY_PATTERN, given) is None:
        raise Refusal("bad-idempotency-key", f"the key has {len(given)} characters, or some that can't be in one")
    what = hashlib.sha256()
    for piece in (request.method.encode(), request.url.path.encode(), request.url.query.encode(), await request.body()):
        what.update(len(piece).to_bytes(8, "big") + piece)
    return Repeatable(caller_of(request).tenant, exchange_of(request.scope).operation, given, what.hexdigest())


def _sent(reply: Reply) -> Response:
    return Response(reply.body, reply.status, dict(reply.headers), "application/json")
