"""One call to a subscriber: to the address that was looked at, no redirect followed, an end to waiting."""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from ipaddress import ip_address
from typing import TYPE_CHECKING

from api.webhooks.addresses import Target

if TYPE_CHECKING:
    import httpx

CONNECT_SECONDS = 5.0
WHOLE_SECONDS = 15.0
KEPT = 500
"""Characters of a refusal that are kept in the log of deliveries."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a call ended. `status` is None where there was no answer; `said` is the beginning of it, or the trouble."""

    status: int | None
    said: str
    milliseconds: int
    retry_after: timedelta | None = None

    @property
    def delivered(self) -> bool:
        """Whether the subscriber took the event."""
        return self.status is not None and 200 <= self.status < 300


def call(to: Target, body: bytes, headers: Mapping[str, str], whole: float = WHOLE_SECONDS) -> Outcome:
    """Send an event. What goes wrong on the way is an outcome, not an error."""
    import httpx  # not needed where nobody subscribes

    begun = time.monotonic()
    literal = f"[{to.address}]" if ip_address(to.address).version == 6 else to.address
    host = to.host if to.port == (443 if to.scheme == "https" else 80) else f"{to.host}:{to.port}"
    sent = {**headers, "host": host, "content-type": "application/cloudevents+json", "user-agent": "halfsplit"}
    wait = httpx.Timeout(min(whole, CONNECT_SECONDS))
    try:
        with (
            httpx.Client(timeout=wait, follow_redirects=False, trust_env=False) as client,
            client.stream(
                "POST", f"{to.scheme}://{literal}:{to.port}{to.path}", content=body, headers=sent,
                extensions={"sni_hostname": to.host},
            ) as answer,
        ):
            said = _beginning(answer, begun + whole)
            return Outcome(answer.status_code, said, _since(begun), _retry_after(answer.headers))
    except (httpx.HTTPError, httpx.InvalidURL, OSError) as error:
        return Outcome(None, f"{type(error).__name__}: {error}"[:KEPT], _since(begun))


def _beginning(answer: httpx.Response, until: float) -> str:
    read = b""
    for piece in answer.iter_raw(1024):
        read += piece
        if len(read) >= KEPT or time.monotonic() > until:
            break
    return read[:KEPT].decode("utf-8", "replace").replace("\x00", "")


def _since(begun: float) -> int:
    return round((time.monotonic() - begun) * 1000)


def _retry_after(headers: httpx.Headers) -> timedelta | None:
    given = headers.get("retry-after", "").strip()
    if given.isdecimal():
        return timedelta(seconds=min(int(given[:9]), 10**8))
    try:
        moment = parsedate_to_datetime(given)
    except ValueError:
        return None
    moment = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
    return max(timedelta(0), moment - datetime.now(UTC))
