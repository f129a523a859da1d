"""Which outline of a size is which piece: told by where it lies, not by order or name."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import shapely

from propagate.io.svg.rings import Ring
from propagate.pattern.model import Array

__all__ = ["match_outlines", "place_said", "tell_missing"]

SAME_PLACE = 0.25
"""Outlines of two sizes are one piece when they share this much of the smaller."""
ALIKE = 0.5
"""Outlines that lie apart are one piece when their boxes, laid on each other, share this."""


def match_outlines(rings: Mapping[str, Sequence[Ring]]) -> list[dict[str, Ring]]:
    """Put the outlines of all sizes together to pieces.

    Sizes are gone through in the order of their area, so that each is compared with the one
    next to it, whose outlines are most alike.

    Parameters
    ----------
    rings : mapping of size to outlines

    Returns
    -------
    list of mappings of size to Ring
        A piece each, in reading order: from the top, from the left.  A piece that some size
        does not draw lacks that size.
    """
    order = sorted(rings, key=lambda size: (sum(r.polygon.area for r in rings[size]), size))
    pieces: list[dict[str, Ring]] = []
    for size in order:
        last = [piece[list(piece)[-1]] for piece in pieces]
        found = _pair_outlines(last, rings[size]) if last and rings[size] else {}
        for index, other in found.items():
            pieces[index][size] = rings[size][other]
        known = set(found.values())
        pieces += [{size: ring} for i, ring in enumerate(rings[size]) if i not in known]
    return sorted(pieces, key=lambda piece: min(map(_find_ring_place, piece.values())))


def tell_missing(piece: Mapping[str, Ring], sizes: Sequence[str], source: str) -> str:
    """Say which sizes lack a piece, and where it is."""
    lacks = [f"'{size}'" for size in sizes if size not in piece]
    has = [size for size in sizes if size in piece]
    drawn = ", ".join(f"'{size}'" for size in has)
    return (
        f"{source}: found a closed outline at {place_said(piece[has[0]])} in size "
        f"{drawn} and none in its place in size "
        f"{', '.join(lacks)}, expected the same pieces in every size; a larger --join closes gaps"
    )


def place_said(ring: Ring) -> str:
    """The middle of an outline, in words."""
    x, y = (ring.points.min(axis=0) + ring.points.max(axis=0)) / 2
    return f"({x:.0f}, {y:.0f}) mm"


def _find_ring_place(ring: Ring) -> tuple[float, float]:
    low, high = ring.points.min(axis=0), ring.points.max(axis=0)
    return -round(float(high[1]), 3), round(float(low[0]), 3)


def _pair_outlines(own: Sequence[Ring], others: Sequence[Ring]) -> dict[int, int]:
    """Which outline of another size lies in the place of each."""
    tree = shapely.STRtree([ring.polygon for ring in others])
    scores = []
    for index, ring in enumerate(own):
        for other in tree.query(ring.polygon, predicate="intersects").tolist():
            shared = ring.polygon.intersection(others[other].polygon).area
            less, more = sorted((ring.polygon.area, others[other].polygon.area))
            if shared >= SAME_PLACE * less:
                scores.append((shared / (less + more - shared), index, other))
    found = _best_first(scores)
    if 2 * len(found) >= min(len(own), len(others)):
        return found
    moved = _laid_on(own, others)
    return moved if len(moved) > len(found) else found


def _best_first(scores: Sequence[tuple[float, int, int]]) -> dict[int, int]:
    """Pairs, the most alike first, each outline once."""
    found: dict[int, int] = {}
    used: set[int] = set()
    for _, index, other in sorted(scores, key=lambda item: (-round(item[0], 9), *item[1:])):
        if index not in found and other not in used:
            found[index] = other
            used.add(other)
    return found


def _laid_on(own: Sequence[Ring], others: Sequence[Ring]) -> dict[int, int]:
    """Pairs when a size as a whole lies elsewhere: moved so that most outlines meet."""
    mine, theirs = _list_boxes(own), _list_boxes(others)
    best: dict[int, int] = {}
    most = 0.0
    for box in mine:
        for other in theirs:
            away = (box[:2] + box[2:]) / 2 - (other[:2] + other[2:]) / 2
            shared = _share_areas(mine, theirs + np.tile(away, 2))
            scores = [
                (float(shared[i, j]), int(i), int(j)) for i, j in np.argwhere(shared >= ALIKE)
            ]
            pairs = _best_first(scores)
            total = sum(float(shared[i, j]) for i, j in pairs.items())
            if total > most + 1e-9:
                best, most = pairs, total
    return best


def _list_boxes(rings: Sequence[Ring]) -> Array:
    return np.array([[*r.points.min(axis=0), *r.points.max(axis=0)] for r in rings])


def _share_areas(mine: Array, theirs: Array) -> Array:
    """(n, m) area that boxes share, as a share of what they cover together."""
    low = np.maximum(mine[:, None, :2], theirs[None, :, :2])
    high = np.minimum(mine[:, None, 2:], theirs[None, :, 2:])
    both = np.maximum(high - low, 0.0).prod(axis=2)
    areas = [(boxes[:, 2:] - boxes[:, :2]).prod(axis=1) for boxes in (mine, theirs)]
    return np.asarray(both / np.maximum(areas[0][:, None] + areas[1][None, :] - both, 1e-9))
