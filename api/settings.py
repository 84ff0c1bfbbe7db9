"""What can be set about a running service."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Settings:
    """One service's settings; the defaults suit one machine and its loopback address.

    `database` is a path or a SQLAlchemy URL, `:memory:` keeps nothing. `equipment` are directories of
    graph documents read besides the packaged ones (`packaged` false leaves those out). `most_bytes`
    limits a request body, `model_bytes` the compiled graphs kept in memory and `answer_bytes` the answers,
    `inline_hypotheses` how large a graph sent with a request may be, `most_findings` the length of a case.
    `quota` requests a minute may come with one key. An `open` service lets its own machine in without a key,
    and no other. `workers` processes serve it; more than one need PostgreSQL.
    `remember` is a directory that keeps what reading the documents found, so that the next start is quicker.
    `sentences` matches a caller's words by a sentence model too, where one is installed.
    `local_webhooks` lets events go to this machine, over plain HTTP; events are kept `event_days`.
    """

    database: str = "halfsplit.db"
    equipment: tuple[Path, ...] = ()
    packaged: bool = True
    host: str = "127.0.0.1"
    port: int = 8600
    workers: int = 1
    most_bytes: int = 2_000_000
    model_bytes: int = 512_000_000
    answer_bytes: int = 64_000_000
    inline_hypotheses: int = 200_000
    most_findings: int = 500
    remember: Path | None = None
    sentences: bool = False
    quota: int = 6000
    open: bool = False
    local_webhooks: bool = False
    event_days: float = 30

    @property
    def loopback(self) -> bool:
        """Whether only this machine reaches the service."""
        return self.host == "localhost" or (self.host.replace(".", "").isdigit() and self.host.startswith("127.")) \
            or self.host == "::1"
