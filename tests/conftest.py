"""One profile of hypothesis for the whole suite, one that goes on for longer, and how tests spread.

In the suite every run tries the same examples.  ``pytest --hypothesis-profile=long`` tries
ten times as many, other ones each time, and long lists of cases as a whole.

What is made while tests are collected stays until the end, so the collector of garbage does not
look at it: it took a tenth of the time of collecting, and a thirtieth of that of the tests.
"""

from __future__ import annotations

import gc
from typing import Any

import pytest
from hypothesis import settings

settings.register_profile("suite", derandomize=True, deadline=None)
settings.register_profile("long", derandomize=False, deadline=None, max_examples=1000)
settings.load_profile("suite")
gc.disable()


def pytest_collection_finish() -> None:
    """Collect garbage of the tests alone, and seldom."""
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)
    gc.enable()


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Give each file to one process as a whole: what its tests share is made once."""
    from xdist.scheduler import LoadFileScheduling

    return LoadFileScheduling(config, log) if config.getvalue("dist") == "load" else None
