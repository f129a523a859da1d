"""How much work something does, counted and not timed: alike on every machine, under any load."""

from __future__ import annotations

import sys
from collections.abc import Callable
from types import FrameType
from typing import Any

__all__ = ["calls_of"]


def calls_of(work: Callable[[], object]) -> int:
    """Count the calls of functions, Python's own and those of libraries, that `work` makes."""
    count = 0

    def note(_frame: FrameType, event: str, _of: Any) -> None:
        nonlocal count
        if event in ("call", "c_call"):
            count += 1

    before = sys.getprofile()
    sys.setprofile(note)
    try:
        work()
    finally:
        sys.setprofile(before)
    return count
