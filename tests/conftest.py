"""What all tests share."""

from hypothesis import settings

# The machine may be busy: how long an example takes says nothing of whether it is right.
settings.register_profile("busy", deadline=None)
settings.load_profile("busy")
