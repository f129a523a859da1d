"""How the corners of a cut line are finished where its seam line is drawn as well.

Every finish that the program can make is tried where a mitre is not what is drawn.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from propagate.geometry.joints import MITRE_LIMIT, Corner
from propagate.geometry.offset import offset_chain
from propagate.geometry.polyline import close_points, locate_all
from propagate.pattern.model import Array, Edge
from propagate.recognise.corner_finishes import FinishKind

__all__ = ["finishes_between"]

_SAME_MM: Final = 0.005
_ROUNDED_MM: Final = 0.003
"""What the digits of a drawing, thousandths of a millimetre, may come to."""
_FITS_MM: Final = 0.05
_BETTER: Final = 0.2
"""A finish counts when it leaves at most this share of what a mitre is off by."""
_STEP_MM: Final = 2.0
_MADE: Final[Mapping[FinishKind, Corner]] = {
    "square": Corner.SQUARE_TO_FIRST,
    "square second": Corner.SQUARE_TO_SECOND,
    "turned": Corner.MIRROR_IN_FIRST,
    "turned second": Corner.MIRROR_IN_SECOND,
}


def finishes_between(
    edges: Sequence[Edge], widths: Sequence[float], ring: Array
) -> dict[tuple[int, int], FinishKind]:
    """Tell the corners of a cut line that are no mitre.

    Parameters
    ----------
    edges : sequence of Edge
        Of the seam line, counter-clockwise.
    widths : sequence of float, mm
        Allowance of each.
    ring : (n, 2) array, mm
        The cut line, closed, its first point not repeated.

    Returns
    -------
    mapping of (number of the edge before, of that after) to FinishKind
    """
    count = len(edges)
    found: dict[tuple[int, int], FinishKind] = {}
    plain = [Corner.MITRE] * count
    try:
        off = _measure_off(edges, widths, plain, ring)
        for i in range(count):
            if off[i] <= _SAME_MM:
                continue
            tried = {}
            for kind, corner in _MADE.items():
                corners = [corner if k == i else Corner.MITRE for k in range(count)]
                tried[kind] = _measure_off(edges, widths, corners, ring)[i]
            best = min(tried, key=lambda kind: tried[kind])
            if tried[best] <= min(_FITS_MM, max(_ROUNDED_MM, _BETTER * off[i])):
                found[i, (i + 1) % count] = best
    except ValueError:  # such allowances make no cut line
        return {}
    return found


def _measure_off(
    edges: Sequence[Edge], widths: Sequence[float], corners: Sequence[Corner], ring: Array
) -> list[float]:
    """How far a cut line is from the drawn one beside every corner, mm."""
    made = offset_chain(
        [edge.points for edge in edges], widths, corners, turns=[edge.turns for edge in edges]
    )
    lines = [np.vstack([points, points[:1]]) for points in (made.points, ring)]
    places = [close_points(line, _STEP_MM) for line in lines]
    found = []
    for i, edge in enumerate(edges):
        reach = MITRE_LIMIT * max(widths[i], widths[(i + 1) % len(edges)])
        worst = 0.0
        for own, other in zip(places, lines[::-1], strict=True):
            near = own[np.hypot(*(own - edge.points[-1]).T) <= reach]
            if len(near):
                worst = max(worst, float(locate_all(other, near)[1].max()))
        found.append(worst)
    return found
