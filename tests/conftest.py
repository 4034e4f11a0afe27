"""What all tests share: property tests are not timed, for the machine may be busy with others."""

from hypothesis import settings

settings.register_profile("sawbuck", deadline=None)
settings.load_profile("sawbuck")
