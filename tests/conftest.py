"""One profile of hypothesis for the whole suite, and one that goes on for longer.

In the suite every run tries the same examples.  ``pytest --hypothesis-profile=long`` tries
ten times as many, other ones each time.
"""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("suite", derandomize=True, deadline=None)
settings.register_profile("long", derandomize=False, deadline=None, max_examples=1000)
settings.load_profile("suite")
