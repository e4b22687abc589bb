"""What holds for all tests: no example is timed, since the machine may be busy."""

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
