"""How many examples a property is tried on, and which part of a long list of cases."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, TypeVar

from hypothesis import settings

__all__ = ["examples", "goes_on", "part_of"]

Case = TypeVar("Case")


def examples(count: int, **others: Any) -> settings:
    """So many examples in the suite, and ten times as many with the profile ``long``."""
    share = (settings.default or settings()).max_examples / 100  # of hypothesis's own default
    return settings(max_examples=max(round(count * share), 1), **others)


def goes_on() -> bool:
    """Whether this is a run with the profile ``long``."""
    return not (settings.default or settings()).derandomize


def part_of(cases: Iterable[Case], every: int) -> list[Case]:
    """Every so-maniest of many cases, from the first on; all of them with the profile ``long``."""
    return list(cases)[:: 1 if goes_on() else every]
