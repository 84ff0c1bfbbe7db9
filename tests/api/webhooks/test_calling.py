from __future__ import annotations

from datetime import timedelta

from api.webhooks.addresses import target
from api.webhooks.calling import KEPT, Outcome, call
from tests.api.webhooks.subscriber import subscribing


def to(url: str) -> Outcome:
    return call(target(url, True, lambda host, port: ["127.0.0.1"]), b"{}", {"webhook-id": "e"})


def test_the_call_goes_to_the_address_in_the_name_of_the_host() -> None:
    with subscribing() as there:
        outcome = to(there.url.replace("localhost", "hooks.example"))
    assert outcome.delivered and outcome.status == 204
    (path, headers, body), = there.came
    assert (path, body, headers["host"].partition(":")[0]) == ("/in?x=1", b"{}", "hooks.example")


def test_a_redirect_is_an_answer_and_not_followed() -> None:
    with subscribing(200) as elsewhere, subscribing(302, Location=elsewhere.url) as there:
        outcome = to(there.url)
    assert (outcome.status, outcome.delivered, len(there.came), len(elsewhere.came)) == (302, False, 1, 0)


def test_what_a_subscriber_says_is_kept_in_short() -> None:
    with subscribing(503, b"x" * 10_000, Retry_After="120") as there:
        outcome = to(there.url)
    assert (outcome.status, len(outcome.said), outcome.retry_after) == (503, KEPT, timedelta(seconds=120))


def test_gone_and_nobody_there() -> None:
    with subscribing(410) as there:
        assert to(there.url).status == 410
    outcome = to(there.url)
    assert outcome.status is None and not outcome.delivered and "Connect" in outcome.said
