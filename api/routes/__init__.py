"""The operations, one module a subject."""
