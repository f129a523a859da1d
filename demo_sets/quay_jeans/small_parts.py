"""The shaped waistband in two halves, and the patch pocket of the back."""

from __future__ import annotations

import math

import numpy as np

from demo_sets.drafting import unit
from demo_sets.drawing import Drawing
from propagate.pattern.model import Array

__all__ = ["draw_back_pocket", "draw_band", "pocket_shape"]

BAND_WIDTH = 38.0
BAND_RADIUS = 950.0  # of the sewn edge; the upper edge is shorter, as the body is above it
BAND_CHORD = 8.0  # mm at most; the sagitta on the sewn edge is then 0.008 mm
POCKET_DEPTH, POCKET_POINT = 132.0, 18.0
POCKET_NARROWER = 8.0  # the pocket narrows by this much on each side towards its bottom


def draw_band(zones: dict[str, float], ends: tuple[str, str]) -> Drawing:
    """Half a waistband, concentric arcs: zones along the sewn edge, each ending at a mark.

    Parameters
    ----------
    zones : dict of str to float
        The mark at the end of each zone and its length, mm; the last has no mark.
    ends : (str, str)
        Names of the short edges at the start and the end of the sewn edge.
    """
    angles, marks = [0.0], []
    for zone in zones.values():
        count = math.ceil(zone / BAND_CHORD)
        step = 2.0 * math.degrees(math.asin(zone / count / 2.0 / BAND_RADIUS))
        angles += [angles[-1] + step * (k + 1) for k in range(count)]
        marks.append(len(angles) - 1)
    rays = np.array([unit(angle - 90.0 - angles[-1] / 2) for angle in angles])
    apex = np.array([0.0, BAND_RADIUS])
    sewn, upper = apex + BAND_RADIUS * rays, apex + (BAND_RADIUS - BAND_WIDTH) * rays[::-1]
    drawing = Drawing()
    drawing.edge("lower", sewn)
    drawing.edge(ends[1], [sewn[-1], upper[0]])
    drawing.edge("upper", upper)
    drawing.edge(ends[0], [upper[-1], sewn[0]])
    for name, index in list(zip(zones, marks, strict=True))[:-1]:
        drawing.mark(name, "lower", sewn[index])
    drawing.grain = ((-60.0, BAND_WIDTH / 2), (60.0, BAND_WIDTH / 2))
    drawing.label = ((90.0, BAND_WIDTH / 2 + 3.0), 0.0)
    return drawing


def pocket_shape(width: float) -> Array:
    """Outline of the back pocket without its upper edge, from its upper left corner round."""
    narrow = POCKET_NARROWER
    corners = [
        (0.0, 0.0),
        (narrow, -POCKET_DEPTH),
        (width / 2, -POCKET_DEPTH - POCKET_POINT),
        (width - narrow, -POCKET_DEPTH),
        (width, 0.0),
    ]
    return np.array(corners)


def draw_back_pocket(width: float) -> Drawing:
    """The patch pocket of the back; its upper edge is hemmed."""
    drawing = Drawing()
    shape = pocket_shape(width)
    names = ("left", "lower_left", "lower_right", "right")
    for name, begin, end in zip(names, shape[:-1], shape[1:], strict=True):
        drawing.edge(name, [begin, end])
    drawing.edge("upper", [shape[-1], shape[0]])
    drawing.grain = ((width / 2, 0.8 * -POCKET_DEPTH), (width / 2, -0.2 * POCKET_DEPTH))
    drawing.label = ((width / 2 - 20.0, -0.5 * POCKET_DEPTH), 90.0)
    return drawing
