"""Layers that are called by a range of sizes, such as ``34-44``: what they hold is of all these."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

__all__ = ["is_range", "list_sizes_within"]

_RANGE = re.compile(r"(?P<first>\w+)\s*(?:-|–|/|_|to|bis|à)\s*(?P<last>\w+)", re.IGNORECASE)


def is_range(name: str) -> bool:
    """Whether a name has a first and a last size."""
    match = _RANGE.fullmatch(name)
    return match is not None and match["first"] != match["last"]


def list_sizes_within(name: str, sizes: Iterable[str], order: Sequence[str]) -> list[str]:
    """The sizes that a range of sizes spans; none when fewer than two are there by themselves.

    Parameters
    ----------
    name : str
    sizes : iterable of str
        Those that have a layer of their own.
    order : sequence of str
        All sizes, the smallest first.
    """
    match = _RANGE.fullmatch(name)
    single = [size for size in order if size in set(sizes) and not is_range(size)]
    if match is None:
        return []
    first, last = match["first"], match["last"]
    if first in single and last in single:
        low, high = sorted((single.index(first), single.index(last)))
        within = single[low : high + 1]
    elif first.isdigit() and last.isdigit():
        low, high = sorted((int(first), int(last)))
        within = [size for size in single if size.isdigit() and low <= int(size) <= high]
    else:
        within = []
    return within if len(within) > 1 else []
