"""Settings of the property tests: none is judged by the clock, so that a busy machine never fails the suite."""

from hypothesis import HealthCheck, settings

settings.register_profile("suite", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("suite")
