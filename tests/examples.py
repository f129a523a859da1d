"""How many examples a property is tried on."""

from __future__ import annotations

from typing import Any

from hypothesis import settings

__all__ = ["examples"]


def examples(count: int, **others: Any) -> settings:
    """So many examples in the suite, and ten times as many with the profile ``long``."""
    share = (settings.default or settings()).max_examples / 100  # of hypothesis's own default
    return settings(max_examples=max(round(count * share), 1), **others)
