"""One profile of hypothesis for the whole suite, one that goes on for longer, and how tests spread.

In the suite every run tries the same examples.  ``pytest --hypothesis-profile=long`` tries
ten times as many, other ones each time, and long lists of cases as a whole.
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import settings

settings.register_profile("suite", derandomize=True, deadline=None)
settings.register_profile("long", derandomize=False, deadline=None, max_examples=1000)
settings.load_profile("suite")


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Give each file to one process as a whole: what its tests share is made once."""
    from xdist.scheduler import LoadFileScheduling

    return LoadFileScheduling(config, log) if config.getvalue("dist") == "load" else None
