"""What all tests share: property tests that draw the same examples every time."""

from hypothesis import settings

# Deadlines measure how busy the machine is, not the code.
settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")
