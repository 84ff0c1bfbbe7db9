"""Migrations of the database schema, run when the service starts."""
