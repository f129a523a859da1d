"""Where a line turns sharply: at dart legs, and at corners inside an edge."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from propagate.geometry.polyline import arc_lengths, points_at
from propagate.values import dataclass

__all__ = ["Turn", "corners_inside", "legs_inside", "same_corners"]

Array = npt.NDArray[np.float64]

_LEG_DEG, _LEG_MM = 5.0, 3.0
"""An old line that turns by more at one place breaks there, as at a dart leg; its direction is
taken over that stretch on either side."""
_CORNER_DEG, _CORNER_MM = 20.0, 1.0
"""The same for a corner inside an edge; a rounding of 3 mm and more is none."""
_ALIKE_DEG = 45.0
"""An old and a new corner turn alike within this."""


@dataclass(frozen=True)
class Turn:
    """A vertex at which a line turns: how far along it, mm; by how much, degrees to the left."""

    along: float
    degrees: float


def legs_inside(points: Array) -> list[Turn]:
    """Vertices at which the old line of an edge with darts breaks, one of each bend."""
    return _turns(points, _LEG_DEG, _LEG_MM)


def corners_inside(points: Array) -> list[Turn]:
    """Corners of a line (n, 2) apart from its ends."""
    return _turns(points, _CORNER_DEG, _CORNER_MM)


def same_corners(old: list[Turn], new: list[Turn]) -> bool:
    """Whether two lines have the same corners, one after the other."""
    return len(old) == len(new) and all(
        abs(a.degrees - b.degrees) <= _ALIKE_DEG for a, b in zip(old, new, strict=True)
    )


def _turns(points: Array, degrees: float, stretch: float) -> list[Turn]:
    arc = arc_lengths(points)
    inner = arc[(arc > stretch) & (arc < arc[-1] - stretch)]
    if not len(inner):
        return []
    here = points_at(points, inner)
    behind = here - points_at(points, inner - stretch)
    ahead = points_at(points, inner + stretch) - here
    signed = np.degrees(
        np.arctan2(behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0], (behind * ahead).sum(1))
    )
    turned = np.abs(signed)
    found: list[Turn] = []
    for i in np.flatnonzero(turned > degrees):
        close = np.abs(inner - inner[i]) < 2 * stretch
        if turned[i] >= turned[close].max():
            found.append(Turn(float(inner[i]), float(signed[i])))
    return found
