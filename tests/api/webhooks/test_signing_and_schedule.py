from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from standardwebhooks import Webhook, WebhookVerificationError

from api.webhooks.schedule import DELAYS, next_delay
from api.webhooks.signing import new_secret, signed_headers

BODY = '{"a":"ü"}'.encode()


def test_the_example_of_the_specification() -> None:
    """Secret, message and signature of the verification example of Standard Webhooks (from memory, recomputed)."""
    secret = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
    headers = signed_headers(
        "msg_p5jXN8AQM9LWM0D4loKWxJek", b'{"test": 2432232314}', datetime.fromtimestamp(1614265330, UTC), [secret])
    assert headers["webhook-signature"] == "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="
    assert headers["webhook-timestamp"] == "1614265330"


def test_old_and_new_secret_both_verify_while_one_replaces_the_other() -> None:
    old, new = new_secret(), new_secret()
    headers = signed_headers("evt", BODY, datetime.now(UTC), [new, old])
    for secret in (old, new):
        assert Webhook(secret).verify(BODY, headers) == {"a": "ü"}
    for changed in ({**headers, "webhook-id": "other"}, {**headers, "webhook-timestamp": "1"}):
        with pytest.raises(WebhookVerificationError):
            Webhook(new).verify(BODY, changed)
    with pytest.raises(WebhookVerificationError):
        Webhook(new_secret()).verify(BODY, headers)


def test_the_waits_grow_over_days_and_end() -> None:
    waits = [next_delay(n, "d") for n in range(1, len(DELAYS) + 1)]
    known = [w for w in waits if w is not None]
    assert known == sorted(known) and len(known) == len(DELAYS)
    assert timedelta(days=3) < sum(known, timedelta()) < timedelta(days=4)
    assert next_delay(len(DELAYS) + 1, "d") is None


def test_deliveries_are_spread_and_a_subscriber_may_ask_for_patience() -> None:
    assert len({next_delay(1, f"d{i}") for i in range(50)}) > 40
    assert next_delay(1, "d", timedelta(hours=1)) == timedelta(hours=1)
    assert next_delay(1, "d", timedelta(days=400)) == timedelta(days=1)
    soon = next_delay(1, "d", timedelta(0))
    assert soon is not None and soon >= DELAYS[0]
