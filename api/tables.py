"""The tables: keys, graph documents and their revisions, overlays, cases and what is appended to them, repeats, events.

Rows of `graph_document`, `graph_revision`, `overlay`, `finding`, `withdrawal`, `closure` and `repeat` are written
once and never changed. Everything that belongs to somebody has its tenant; what hangs on a case has its case's.
"""

from __future__ import annotations

from sqlalchemy import (
    CheckConstraint,
    Column,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}
metadata = MetaData(naming_convention=NAMING)
SHARED = ""
"""The tenant of graphs that all tenants see."""

api_key = Table(
    "api_key", metadata,
    Column("id", String(16), primary_key=True),
    Column("tenant", String(64), nullable=False),
    Column("title", String(200), nullable=False),
    Column("hash", String(64), nullable=False),
    Column("scopes", Text, nullable=False),
    Column("created", String(32), nullable=False),
    Column("expires", String(32)),
    Column("revoked", String(32)),
)

graph_document = Table(
    "graph_document", metadata,
    Column("digest", String(64), primary_key=True),
    Column("document", Text, nullable=False),
)

graph_revision = Table(
    "graph_revision", metadata,
    Column("tenant", String(64), primary_key=True),
    Column("equipment", String(64), primary_key=True),
    Column("revision", Integer, primary_key=True, autoincrement=False),
    Column("digest", String(64), ForeignKey("graph_document.digest"), nullable=False),
    Column("note", Text, nullable=False),
    Column("created", String(32), nullable=False),
)

overlay = Table(
    "overlay", metadata,
    Column("tenant", String(64), primary_key=True),
    Column("equipment", String(64), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("body", Text, nullable=False),
    Column("created", String(32), nullable=False),
)

service_case = Table(
    "service_case", metadata,
    Column("id", String(26), primary_key=True),
    Column("tenant", String(64), nullable=False),
    Column("version", Integer, nullable=False),
    Column("status", String(8), nullable=False),
    Column("equipment", String(64), nullable=False),
    Column("digest", String(64), ForeignKey("graph_document.digest"), nullable=False),
    Column("revision", Integer, nullable=False),
    Column("overlay", Integer),
    Column("external_id", String(200)),
    Column("metadata", Text, nullable=False),
    Column("complaint", Text, nullable=False),
    Column("context", Text, nullable=False),
    Column("created", String(32), nullable=False),
    Column("updated", String(32), nullable=False),
    CheckConstraint("status IN ('open', 'closed')", name="status"),
    Index(None, "tenant", "id"),
    Index(None, "tenant", "equipment", "id"),
    Index(None, "tenant", "external_id", "id"),
    Index(None, "tenant", "updated", "id"),
)

finding = Table(
    "finding", metadata,
    Column("case_id", String(26), ForeignKey("service_case.id"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("body", Text, nullable=False),
    Column("recorded", String(32), nullable=False),
)

withdrawal = Table(
    "withdrawal", metadata,
    Column("case_id", String(26), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("body", Text, nullable=False),
    Column("recorded", String(32), nullable=False),
    ForeignKeyConstraint(["case_id", "number"], ["finding.case_id", "finding.number"]),
)

closure = Table(
    "closure", metadata,
    Column("case_id", String(26), ForeignKey("service_case.id"), primary_key=True),
    Column("body", Text, nullable=False),
    Column("recorded", String(32), nullable=False),
)

repeat = Table(
    "repeat", metadata,
    Column("tenant", String(64), primary_key=True),
    Column("operation", String(64), primary_key=True),
    Column("key", String(200), primary_key=True),
    Column("fingerprint", String(64), nullable=False),
    Column("status", Integer, nullable=False),
    Column("headers", Text, nullable=False),
    Column("body", LargeBinary, nullable=False),
    Column("created", String(32), nullable=False),
    Column("subject", String(64), nullable=False, server_default=""),
    Index(None, "created"),
    Index(None, "tenant", "subject"),
)

event = Table(
    "event", metadata,
    Column("tenant", String(64), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("id", String(26), nullable=False),
    Column("type", String(64), nullable=False),
    Column("body", Text, nullable=False),
    Column("recorded", String(32), nullable=False),
    UniqueConstraint("id"),
    Index(None, "recorded"),
)

webhook = Table(
    "webhook", metadata,
    Column("id", String(26), primary_key=True),
    Column("tenant", String(64), nullable=False),
    Column("url", Text, nullable=False),
    Column("types", Text, nullable=False),
    Column("title", String(200), nullable=False),
    Column("metadata", Text, nullable=False),
    Column("secrets", Text, nullable=False),
    Column("created", String(32), nullable=False),
    Column("disabled", String(32)),
    Column("reason", Text),
    Index(None, "tenant", "id"),
)

delivery = Table(
    "delivery", metadata,
    Column("webhook", String(26), ForeignKey("webhook.id"), primary_key=True),
    Column("event", String(26), ForeignKey("event.id"), primary_key=True),
    Column("state", String(12), nullable=False),
    Column("due", String(32)),
    Column("attempts", Integer, nullable=False),
    Column("tries", Integer, nullable=False),
    Index(None, "due"),
    Index(None, "event"),
)

attempt = Table(
    "attempt", metadata,
    Column("webhook", String(26), primary_key=True),
    Column("event", String(26), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("at", String(32), nullable=False),
    Column("status", Integer),
    Column("said", Text, nullable=False),
    Column("milliseconds", Integer, nullable=False),
    ForeignKeyConstraint(["webhook", "event"], ["delivery.webhook", "delivery.event"]),
    Index(None, "event"),
)
