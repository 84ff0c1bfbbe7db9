"""Events, subscribers, deliveries and their log; what a kept answer to a repeated request is about."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Create the four tables, and a column."""
    op.create_table(
        "event",
        sa.Column("tenant", sa.String(64), nullable=False),
        sa.Column("number", sa.Integer, autoincrement=False, nullable=False),
        sa.Column("id", sa.String(26), nullable=False),
        sa.Column("type", sa.String(64), nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("recorded", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "number", name="pk_event"),
        sa.UniqueConstraint("id", name="uq_event_id"),
    )
    op.create_index("ix_event_recorded", "event", ["recorded"])
    op.create_table(
        "webhook",
        sa.Column("id", sa.String(26), nullable=False),
        sa.Column("tenant", sa.String(64), nullable=False),
        sa.Column("url", sa.Text, nullable=False),
        sa.Column("types", sa.Text, nullable=False),
        sa.Column("title", sa.String(200), nullable=False),
        sa.Column("metadata", sa.Text, nullable=False),
        sa.Column("secrets", sa.Text, nullable=False),
        sa.Column("created", sa.String(32), nullable=False),
        sa.Column("disabled", sa.String(32)),
        sa.Column("reason", sa.Text),
        sa.PrimaryKeyConstraint("id", name="pk_webhook"),
    )
    op.create_index("ix_webhook_tenant_id", "webhook", ["tenant", "id"])
    op.create_table(
        "delivery",
        sa.Column("webhook", sa.String(26), nullable=False),
        sa.Column("event", sa.String(26), nullable=False),
        sa.Column("state", sa.String(12), nullable=False),
        sa.Column("due", sa.String(32)),
        sa.Column("attempts", sa.Integer, nullable=False),
        sa.Column("tries", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("webhook", "event", name="pk_delivery"),
        sa.ForeignKeyConstraint(["webhook"], ["webhook.id"], name="fk_delivery_webhook_webhook"),
        sa.ForeignKeyConstraint(["event"], ["event.id"], name="fk_delivery_event_event"),
    )
    op.create_index("ix_delivery_due", "delivery", ["due"])
    op.create_index("ix_delivery_event", "delivery", ["event"])
    op.create_table(
        "attempt",
        sa.Column("webhook", sa.String(26), nullable=False),
        sa.Column("event", sa.String(26), nullable=False),
        sa.Column("number", sa.Integer, autoincrement=False, nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.Column("status", sa.Integer),
        sa.Column("said", sa.Text, nullable=False),
        sa.Column("milliseconds", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("webhook", "event", "number", name="pk_attempt"),
        sa.ForeignKeyConstraint(
            ["webhook", "event"], ["delivery.webhook", "delivery.event"], name="fk_attempt_webhook_event_delivery"
        ),
    )
    op.create_index("ix_attempt_event", "attempt", ["event"])
    op.add_column("repeat", sa.Column("subject", sa.String(64), nullable=False, server_default=""))
    op.create_index("ix_repeat_tenant_subject", "repeat", ["tenant", "subject"])


def downgrade() -> None:
    """Remove them again."""
    op.drop_index("ix_repeat_tenant_subject", "repeat")
    op.drop_column("repeat", "subject")
    for table in ("attempt", "delivery", "webhook", "event"):
        op.drop_table(table)
