"""Settings of the property tests: none is judged by the clock, so that a busy machine never fails the suite.

Sixty examples each keep the suite under three minutes; campaigns draw thousands.
"""

from hypothesis import HealthCheck, settings

settings.register_profile("suite", deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("suite")
