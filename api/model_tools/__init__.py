"""Halfsplit as tools of a language model: over the Model Context Protocol, or as function definitions."""
