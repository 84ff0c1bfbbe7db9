"""Common words of English, so that a word that is right isn't put right: a steak is no steam.

The words stand in `english.txt`, with where they come from and the notice they come under.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files


@cache
def english() -> frozenset[str]:
    """The words, in lower case and without regular endings; read when first needed."""
    text = files("graph.words").joinpath("english.txt").read_text(encoding="utf-8")
    return frozenset(word for line in text.splitlines() if not line.startswith("#") for word in line.split())
