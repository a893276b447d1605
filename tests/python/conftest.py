"""The same random examples on every run; UNDERFOOT_LONG=1 takes many more."""

import os

from hypothesis import HealthCheck, settings

SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much]
settings.register_profile(
    "default", derandomize=True, deadline=None, max_examples=60, suppress_health_check=SLOW
)
settings.register_profile(
    "long", derandomize=False, deadline=None, max_examples=2000, suppress_health_check=SLOW
)
settings.load_profile("long" if os.environ.get("UNDERFOOT_LONG") == "1" else "default")
