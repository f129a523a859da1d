"""What a figure of a step shows: parts of a piece, each in a window with its scale."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely

from propagate.report.scene.lead import SCALES

__all__ = ["GAP_MM", "drawn_height", "largest_scale", "share_of", "sliced", "windows_of"]

Array = npt.NDArray[np.float64]

_ROOM_MM = 19.0
"""Room around what is shown, for labels."""
_LEAST_MM = 4.0
GAP_MM = 5.0
_APART = 0.18
"""Changes farther apart than this share of the piece can have windows of their own."""


def windows_of(points: Array) -> list[Array]:
    """Boxes around what changed: [low, high] of each, the upper first; two at most."""
    low, high = points.min(axis=0), points.max(axis=0)
    reach = _APART * float(np.hypot(*(high - low)))
    areas = shapely.MultiPoint(points).buffer(reach / 2, quad_segs=2)
    groups = [
        points[shapely.covers(part, shapely.points(points))] for part in shapely.get_parts(areas)
    ]
    if len(groups) != 2:
        groups = [points]
    boxes = [np.array([group.min(axis=0), group.max(axis=0)]) for group in groups]
    return sorted(boxes, key=lambda box: (-box[1][1], box[0][0]))


def sliced(window: Array, count: int) -> tuple[Array, ...]:
    """Equal parts of a box along its longer side, the upper ones or those on the left first."""
    axis = int(np.argmax(window[1] - window[0]))
    cuts = np.linspace(window[0, axis], window[1, axis], count + 1)
    parts = []
    for begin, end in pairwise(cuts):
        part = window.copy()
        part[:, axis] = begin, end
        parts.append(part)
    return tuple(parts[::-1] if axis else parts)


def share_of(room: tuple[float, float], count: int, beside: bool) -> tuple[float, float]:
    """The room of one of some windows, beside or below each other."""
    across, down = (count, 1) if beside else (1, count)
    return (room[0] + GAP_MM) / across - GAP_MM, (room[1] + GAP_MM) / down - GAP_MM


def largest_scale(window: Array, room: tuple[float, float]) -> float:
    """The largest drawing that fits: 4.0 stands for 1:4."""
    size = window[1] - window[0]
    wide, tall = (max(mm - 2 * _ROOM_MM, _LEAST_MM) for mm in room)
    # True scale at the largest; twice that where what changes is as small as a button.
    least = 0.5 if float(max(size)) < 40.0 else 1.0
    need = max(float(size[0]) / wide, float(size[1]) / tall, least)
    return next((float(s) for s in SCALES if s >= need - 1e-9), math.ceil(need / 10.0) * 10.0)


def drawn_height(window: Array, scale: float, room: tuple[float, float]) -> float:
    """How tall a window is in a room, mm, with room for labels."""
    return float(min((window[1] - window[0])[1] / scale + 2 * _ROOM_MM, room[1]))
