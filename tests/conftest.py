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


TOGETHER = ("tests/page", "tests/print", "tests/worksheet")
"""Folders whose files share what takes long to make: a browser, prints, work sheets."""


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Give each file, and some folders, to one process as a whole: what is shared is made once."""
    from xdist.scheduler import LoadFileScheduling

    class Scheduling(LoadFileScheduling):
        def _split_scope(self, nodeid: str) -> str:
            file = nodeid.partition("::")[0]
            folder = file.rpartition("/")[0]
            return folder if folder in TOGETHER else file

    return Scheduling(config, log) if config.getvalue("dist") == "load" else None
