"""Facings and strips: two edges that lay beside each other at one width."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np
import numpy.typing as npt

from propagate.geometry.polyline import locate_all, sampled
from propagate.pattern.model import Edge, SizedPiece

__all__ = ["width_changes"]

Array = npt.NDArray[np.float64]

_WIDEST_MM = 150.0
_EVEN_MM = 1.0
_CHANGED_MM = 1.5
_LONG = 2.0
"""A strip is this many times as long as it is wide."""
_PLACES = 21


def width_changes(old: SizedPiece, new: SizedPiece) -> Iterator[str]:
    """Widths of strips that were even and changed, or became uneven."""
    names = old.edge_names
    for i, j in combinations(range(len(names)), 2):
        if j - i in (1, len(names) - 1):
            continue  # neighbours meet in a corner
        before = _widths(old.edges[i], old.edges[j])
        if before is None or np.ptp(before) > _EVEN_MM or before.mean() > _WIDEST_MM:
            continue
        if min(old.edges[i].length, old.edges[j].length) < _LONG * before.mean():
            continue
        after = _widths(new.edges[i], new.edges[j])
        if after is not None and np.abs(after - before.mean()).max() > _CHANGED_MM:
            yield (
                f"nobody edited it, and its width between '{names[i]}' and '{names[j]}', which was "
                f"{before.mean():.1f} mm, is now {after.min():.1f} to {after.max():.1f} mm"
            )


def _widths(first: Edge, second: Edge) -> Array | None:
    """Distances between two edges at even places of the shorter one, its ends left out."""
    short, long = sorted((first, second), key=lambda edge: edge.length)
    if short.length <= 0.0 or long.length > 3.0 * short.length:
        return None
    places = sampled(short.points, _PLACES)[2:-2]
    _, gaps = locate_all(long.points, places)
    return gaps
