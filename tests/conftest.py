"""No test depends on the machine's speed: hypothesis has no deadline for an example."""

from hypothesis import settings

settings.register_profile("any machine", deadline=None)
settings.load_profile("any machine")
