"""The tables: graph revisions, cases and what is appended to them.

Rows of `graph_revision`, `finding`, `withdrawal` and `closure` are written once and never changed.
"""

from __future__ import annotations

from sqlalchemy import (
    CheckConstraint,
    Column,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)

metadata = MetaData(naming_convention={
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
})

graph_revision = Table(
    "graph_revision", metadata,
    Column("digest", String(64), primary_key=True),
    Column("equipment", String(64), nullable=False),
    Column("revision", Integer, nullable=False),
    Column("document", Text, nullable=False),
    Column("created", String(32), nullable=False),
    UniqueConstraint("equipment", "revision"),
)

service_case = Table(
    "service_case", metadata,
    Column("id", String(26), primary_key=True),
    Column("version", Integer, nullable=False),
    Column("status", String(8), nullable=False),
    Column("equipment", String(64), nullable=False),
    Column("digest", String(64), ForeignKey("graph_revision.digest"), nullable=False),
    Column("external_id", String(200)),
    Column("complaint", Text, nullable=False),
    Column("context", Text, nullable=False),
    Column("created", String(32), nullable=False),
    Column("updated", String(32), nullable=False),
    CheckConstraint("status IN ('open', 'closed')", name="status"),
    Index(None, "equipment", "id"),
    Index(None, "external_id", "id"),
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
