"""Signatures of events, after Standard Webhooks: a subscriber can tell that the service sent them."""

from __future__ import annotations

import secrets
from base64 import b64encode
from collections.abc import Sequence
from datetime import UTC, datetime

from standardwebhooks import Webhook

PREFIX = "whsec_"


def new_secret() -> str:
    """A secret of 32 random bytes, in the form that verifying libraries read."""
    return PREFIX + b64encode(secrets.token_bytes(32)).decode()


def signed_headers(event: str, body: bytes, moment: datetime, signing: Sequence[str]) -> dict[str, str]:
    """The three headers of a signed event; one signature for each secret, so that a secret can be replaced."""
    naive = moment.astimezone(UTC).replace(tzinfo=None)  # the library takes what it is given for UTC
    marks = [Webhook(secret).sign(event, naive, body.decode()) for secret in signing]
    return {
        "webhook-id": event,
        "webhook-timestamp": str(int(moment.timestamp())),
        "webhook-signature": " ".join(marks),
    }
