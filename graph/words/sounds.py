"""How a word sounds, roughly: what is spelt by ear has the sound of the word that is meant.

A few rules of English spelling, after the idea of phonetic keys (L. Philips, "Hanging on the Metaphone", 1990); unlike
there vowels are kept, long ones in capitals, for drain and drone are two words.
"""

from __future__ import annotations

import re
from functools import lru_cache

_RULES = tuple((re.compile(pattern), spoken) for pattern, spoken in (
    (r"^kn", "n"), (r"^wr", "r"), (r"^wh", "w"), (r"mb$", "m"), (r"ph", "f"), (r"tch", "ch"), (r"ck", "k"),
    (r"ough$", "uf"), (r"eigh", "A"), (r"igh", "I"), (r"gh", ""), (r"qu", "kw"), (r"x", "ks"), (r"ce", "se"),
    (r"ci", "si"), (r"c(?!h)", "k"), (r"z", "s"), (r"(oar|ore|oor|our)$", "Or"), (r"(er|or|ar|re)$", "r"),
    (r"a(st|ng|[bdfgjklmnpstv])e(?=[sd]?$)", r"A\1"), (r"e([bdfgjklmnpstv])e(?=[sd]?$)", r"E\1"),
    (r"i([bdfgjklmnpstv])e(?=[sd]?$)", r"I\1"), (r"o([bdfgjklmnpstv])e(?=[sd]?$)", r"O\1"),
    (r"u([bdfgjklmnpstv])e(?=[sd]?$)", r"U\1"), (r"ai|ay|ei", "A"), (r"ee|ea|ie|e?y$", "E"), (r"oa|ow", "O"),
    (r"oo|ue|eu|ew", "U"), (r"e$", ""), (r"(.)\1+", r"\1"),
))


@lru_cache(maxsize=50_000)
def sound(word: str) -> str:
    """A key that words of one sound share: steem and steam, lite and light, enuff and enough."""
    for pattern, spoken in _RULES:
        word = pattern.sub(spoken, word)
    return word
