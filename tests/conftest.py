"""Settings that all tests share."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile(
    "steady", derandomize=True, deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile("searching", parent=settings.get_profile("steady"), derandomize=False, max_examples=1000)
settings.load_profile("steady")
