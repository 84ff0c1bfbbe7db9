"""How the records that go out describe themselves."""

from __future__ import annotations

DOCUMENTED: dict[str, object] = {"use_attribute_docstrings": True}
"""For `__pydantic_config__`: the docstrings of attributes become descriptions in the published schema."""
