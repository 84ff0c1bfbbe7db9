"""Tenants and keys; graph documents apart from their revisions; overlays; metadata of cases; repeated requests.

What was there before belongs to the tenant `default`; graphs were loaded from files, so everybody sees them.
"""

from __future__ import annotations

from contextlib import AbstractContextManager

import sqlalchemy as sa
from alembic import op
from alembic.operations import BatchOperations

from api.tables import NAMING

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

_INDEXES: tuple[tuple[str, ...], ...] = (
    ("tenant", "id"), ("tenant", "equipment", "id"), ("tenant", "external_id", "id"), ("tenant", "updated", "id"),
)


def upgrade() -> None:
    """Give everything its tenant."""
    _new_tables()
    db = op.get_bind()
    db.execute(sa.text("INSERT INTO graph_document SELECT digest, document FROM graph_revision"))
    revisions = db.execute(sa.text("SELECT equipment, revision, digest, created FROM graph_revision")).all()
    with _cases() as batch:
        for name in ("equipment_id", "external_id_id"):
            batch.drop_index(f"ix_service_case_{name}")
        batch.drop_constraint("fk_service_case_digest_graph_revision", type_="foreignkey")
        batch.add_column(sa.Column("tenant", sa.String(64), nullable=False, server_default="default"))
        batch.add_column(sa.Column("revision", sa.Integer, nullable=False, server_default="0"))
        batch.add_column(sa.Column("overlay", sa.Integer))
        batch.add_column(sa.Column("metadata", sa.Text, nullable=False, server_default="{}"))
        batch.create_foreign_key("fk_service_case_digest_graph_document", "graph_document", ["digest"], ["digest"])
    db.execute(sa.text(
        "UPDATE service_case SET revision = "
        "(SELECT g.revision FROM graph_revision g WHERE g.digest = service_case.digest)"
    ))
    with _cases() as batch:
        for column in ("tenant", "revision", "metadata"):
            batch.alter_column(column, server_default=None)
    for columns in _INDEXES:
        op.create_index("_".join(("ix_service_case", *columns)), "service_case", list(columns))
    op.drop_table("graph_revision")
    table = _revisions()
    if revisions:
        op.bulk_insert(table, [{**row._asdict(), "tenant": "", "note": ""} for row in revisions])


def _cases() -> AbstractContextManager[BatchOperations]:
    return op.batch_alter_table("service_case", naming_convention=NAMING)


def _new_tables() -> None:
    op.create_table(
        "api_key",
        sa.Column("id", sa.String(16), nullable=False),
        sa.Column("tenant", sa.String(64), nullable=False),
        sa.Column("title", sa.String(200), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
        sa.Column("scopes", sa.Text, nullable=False),
        sa.Column("created", sa.String(32), nullable=False),
        sa.Column("expires", sa.String(32)),
        sa.Column("revoked", sa.String(32)),
        sa.PrimaryKeyConstraint("id", name="pk_api_key"),
    )
    op.create_table(
        "graph_document",
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("document", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("digest", name="pk_graph_document"),
    )
    op.create_table(
        "overlay",
        sa.Column("tenant", sa.String(64), nullable=False),
        sa.Column("equipment", sa.String(64), nullable=False),
        sa.Column("number", sa.Integer, autoincrement=False, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("created", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "equipment", "number", name="pk_overlay"),
    )
    op.create_table(
        "repeat",
        sa.Column("tenant", sa.String(64), nullable=False),
        sa.Column("operation", sa.String(64), nullable=False),
        sa.Column("key", sa.String(200), nullable=False),
        sa.Column("fingerprint", sa.String(64), nullable=False),
        sa.Column("status", sa.Integer, nullable=False),
        sa.Column("headers", sa.Text, nullable=False),
        sa.Column("body", sa.LargeBinary, nullable=False),
        sa.Column("created", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "operation", "key", name="pk_repeat"),
    )
    op.create_index("ix_repeat_created", "repeat", ["created"])


def _revisions() -> sa.Table:
    return op.create_table(
        "graph_revision",
        sa.Column("tenant", sa.String(64), nullable=False),
        sa.Column("equipment", sa.String(64), nullable=False),
        sa.Column("revision", sa.Integer, autoincrement=False, nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("created", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "equipment", "revision", name="pk_graph_revision"),
        sa.ForeignKeyConstraint(
            ["digest"], ["graph_document.digest"], name="fk_graph_revision_digest_graph_document"
        ),
    )
