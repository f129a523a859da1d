"""Marks that are drawn for every size in one look: which of them is whose.

Where sizes run on one line, or inside a piece, nothing that a mark touches tells its size.  As many
marks side by side as there are sizes are one for each, in the order of the sizes; which end of
the row is the smallest is told by the outlines: a mark stays in its place between their ends.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import shapely

from propagate.pattern.model import Array

__all__ = ["order_by_size", "rows_of"]

NEIGHBOUR_MM = 30.0
"""Marks of one row are no farther from each other than sizes are graded."""
CLEARLY = 2.0
"""An order is taken when the other one is off by this many times as much."""
LEAST_MM = 0.05


def rows_of(places: Array) -> list[list[int]]:
    """Numbers of places that lie side by side, (n, 2) in mm, each row from one end to the other."""
    if not len(places):
        return []
    row = np.arange(len(places))
    tree = shapely.STRtree(shapely.points(places))
    near = tree.query(shapely.points(places), predicate="dwithin", distance=NEIGHBOUR_MM)
    for a, b in near.T.tolist():
        if row[a] != row[b]:
            row[row == max(row[a], row[b])] = min(row[a], row[b])
    found = []
    for first in sorted(set(row.tolist())):
        members = np.flatnonzero(row == first)
        offsets = places[members] - places[members].mean(axis=0)
        along = np.linalg.svd(offsets)[2][0]
        along = along if along[np.argmax(np.abs(along))] > 0 else -along
        found.append(members[np.argsort(offsets @ along, kind="stable")].tolist())
    return found


def order_by_size(row: Array, outlines: Mapping[str, Array], sizes: Sequence[str]) -> int | None:
    """Whether a row of marks, one for each size, begins with the first size (1) or the last (-1).

    Parameters
    ----------
    row : (n, 2) array, mm
        From one end to the other, as many as there are sizes.
    outlines : mapping of size to (k, 2) array

    Returns
    -------
    int or None
        None where both orders fit about as well.
    """
    low = np.array([outlines[size].min(axis=0) for size in sizes])
    span = np.array([np.ptp(outlines[size], axis=0) for size in sizes])
    off = []
    for places in (row, row[::-1]):
        shares = (places - low) / span
        off.append(float(np.hypot(*(shares.std(axis=0) * span.mean(axis=0)))))
    if off[0] * CLEARLY + LEAST_MM < off[1]:
        return 1
    return -1 if off[1] * CLEARLY + LEAST_MM < off[0] else None
