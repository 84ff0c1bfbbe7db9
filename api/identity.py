"""Names for cases: opaque, safe in URLs, in order of creation.

48 bits of milliseconds and 80 random bits in 26 digits of Crockford's base 32, lower case, so that
they sort as text. A page's cursor is such a name too: it marks a place in the order, whether or not a
case stands there.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable

from api.clock import Clock

_DIGITS = "0123456789abcdefghjkmnpqrstvwxyz"
_LENGTH = 26

Names = Callable[[], str]


def case_names(clock: Clock, randomness: Callable[[int], int] = secrets.randbits) -> Names:
    """A maker of case names from a clock and a source of random bits."""

    def name() -> str:
        number = (int(clock().timestamp() * 1000) << 80) | randomness(80)
        return "".join(_DIGITS[(number >> (5 * place)) & 31] for place in reversed(range(_LENGTH)))

    return name
