"""What all tests share: examples that are the same every time, and no test that fails because a machine is busy."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile(
    "fieldfare", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow], print_blob=True
)
settings.load_profile("fieldfare")
