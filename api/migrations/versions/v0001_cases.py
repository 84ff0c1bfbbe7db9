"""Graph revisions, cases, findings, withdrawals, closures."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Create the first five tables."""
    op.create_table(
        "graph_revision",
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("equipment", sa.String(64), nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("document", sa.Text, nullable=False),
        sa.Column("created", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("digest", name="pk_graph_revision"),
        sa.UniqueConstraint("equipment", "revision", name="uq_graph_revision_equipment_revision"),
    )
    op.create_table(
        "service_case",
        sa.Column("id", sa.String(26), nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("status", sa.String(8), nullable=False),
        sa.Column("equipment", sa.String(64), nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("external_id", sa.String(200)),
        sa.Column("complaint", sa.Text, nullable=False),
        sa.Column("context", sa.Text, nullable=False),
        sa.Column("created", sa.String(32), nullable=False),
        sa.Column("updated", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_service_case"),
        sa.ForeignKeyConstraint(["digest"], ["graph_revision.digest"], name="fk_service_case_digest_graph_revision"),
        sa.CheckConstraint("status IN ('open', 'closed')", name=op.f("ck_service_case_status")),
    )
    op.create_index("ix_service_case_equipment_id", "service_case", ["equipment", "id"])
    op.create_index("ix_service_case_external_id_id", "service_case", ["external_id", "id"])
    op.create_table(
        "finding",
        sa.Column("case_id", sa.String(26), nullable=False),
        sa.Column("number", sa.Integer, autoincrement=False, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("recorded", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("case_id", "number", name="pk_finding"),
        sa.ForeignKeyConstraint(["case_id"], ["service_case.id"], name="fk_finding_case_id_service_case"),
    )
    op.create_table(
        "withdrawal",
        sa.Column("case_id", sa.String(26), nullable=False),
        sa.Column("number", sa.Integer, autoincrement=False, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("recorded", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("case_id", "number", name="pk_withdrawal"),
        sa.ForeignKeyConstraint(
            ["case_id", "number"], ["finding.case_id", "finding.number"], name="fk_withdrawal_case_id_number_finding"
        ),
    )
    op.create_table(
        "closure",
        sa.Column("case_id", sa.String(26), nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("recorded", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("case_id", name="pk_closure"),
        sa.ForeignKeyConstraint(["case_id"], ["service_case.id"], name="fk_closure_case_id_service_case"),
    )


def downgrade() -> None:
    """Remove them again."""
    for table in ("closure", "withdrawal", "finding", "service_case", "graph_revision"):
        op.drop_table(table)
