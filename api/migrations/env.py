"""How a migration runs: on the connection that `api.database.upgrade` holds."""

from __future__ import annotations

from alembic import context

from api.tables import metadata

context.configure(connection=context.config.attributes["connection"], target_metadata=metadata)
context.run_migrations()
