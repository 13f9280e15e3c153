"""What holds for every test: no test is judged by the clock on the wall.

A busy machine must not turn a run red; speed is measured by ``python -m tests.bench``.
"""

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
