"""How much a key may ask: a bucket of tokens each, filled at a steady rate. Each worker counts for itself."""

from __future__ import annotations

import math
import time
from collections import OrderedDict
from collections.abc import Callable

from api.problems import Refusal

_MOST_BUCKETS = 10_000


class Limits:
    """A bucket a key: `quota` requests in `seconds` seconds, all at once or evenly."""

    def __init__(self, quota: int, seconds: int = 60, monotonic: Callable[[], float] = time.monotonic) -> None:
        self._quota = quota
        self._rate = quota / seconds
        self._monotonic = monotonic
        self._buckets: OrderedDict[str, tuple[float, float]] = OrderedDict()
        self.policy = f'"key";q={quota};w={seconds}'

    def take(self, key: str, tokens: int = 1) -> dict[str, str]:
        """Use up tokens; the headers that say what is left. Raises Refusal too-many-requests."""
        now = self._monotonic()
        left, since = self._buckets.get(key, (float(self._quota), now))
        left = min(self._quota, left + (now - since) * self._rate)
        tokens = min(tokens, self._quota)
        if left < tokens:
            wait = math.ceil((tokens - left) / self._rate)
            raise Refusal(
                "too-many-requests", f"the key may ask {self.policy}", headers={
                    "retry-after": str(wait), "ratelimit-policy": self.policy, "ratelimit": f'"key";r=0;t={wait}',
                },
            )
        left -= tokens
        self._buckets[key] = left, now
        self._buckets.move_to_end(key)
        if len(self._buckets) > _MOST_BUCKETS:
            self._buckets.popitem(last=False)
        full = math.ceil((self._quota - left) / self._rate)
        return {"ratelimit-policy": self.policy, "ratelimit": f'"key";r={int(left)};t={full}'}
