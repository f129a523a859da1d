"""Unfold a half piece about its mirror line."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.geometry.beside import longest_run_on
from propagate.geometry.corner import turning
from propagate.geometry.polyline import near_vertices
from propagate.io.dxf.conventions import (
    BOUNDARY,
    CURVE,
    CUT_OUT,
    DRILL,
    INTERNAL,
    MIRROR,
    NOTCH_NAMES,
    SEW,
    TURN,
    VALIDATION,
)
from propagate.io.dxf.loops import find_loops
from propagate.io.dxf.shapes import Line, Shapes
from propagate.pattern.model import Array

__all__ = ["unfold"]

_SMOOTH_DEG = 5.0
_TWICE = (TURN, CURVE, *NOTCH_NAMES, DRILL)


def unfold(shapes: Shapes) -> Shapes | None:
    """Return the whole piece, or None when no outline has an edge on the mirror line.

    Points on the mirror line stay single; a corner there stays one only where the outline
    turns.
    """
    mirrors = [line for line in shapes.lines if line.layer == MIRROR]
    if not mirrors:
        return None
    start, end = mirrors[0].points[0], mirrors[0].points[-1]
    lines: list[Line] = []
    ends: list[Array] = []
    smooth: list[Array] = []
    for layer in (BOUNDARY, SEW):
        loops, _ = find_loops([line for line in shapes.lines if line.layer == layer])
        run = longest_run_on(loops[0].points, start, end) if loops else None
        if not loops:
            continue
        if run is None:
            if layer == BOUNDARY:
                return None
            lines.append(Line(layer, loops[0].points, True, loops[0].lines[0].source))
            continue
        whole = _unfolded(loops[0].points, run, start, end)
        lines.append(Line(layer, whole, True, loops[0].lines[0].source))
        bends = np.abs(turning(whole))
        at = near_vertices(whole, loops[0].points[run])
        ends += list(loops[0].points[run])
        smooth += [whole[i] for i in at if i >= 0 and bends[i] < _SMOOTH_DEG]
    for line in shapes.lines:
        if line.layer in (BOUNDARY, SEW, MIRROR):
            continue
        lines.append(line)
        if line.layer in (INTERNAL, CUT_OUT, *VALIDATION.values()):
            lines.append(replace(line, points=_mirrored(line.points, start, end)))
    dropped = np.array(smooth).reshape(-1, 2)
    inside = np.array(ends).reshape(-1, 2)
    points = []
    for point in shapes.points:
        at = np.array([point.at])
        on_fold = len(inside) and near_vertices(inside, at)[0] >= 0
        if point.layer == TURN and on_fold:
            if not len(dropped) or near_vertices(dropped, at)[0] < 0:
                points.append(point)
            continue
        points.append(point)
        twin = _mirrored(at, start, end)[0]
        if point.layer in _TWICE and np.hypot(*(twin - at[0])) > 0.05:
            points.append(replace(point, at=(float(twin[0]), float(twin[1]))))
    return Shapes(lines, points, shapes.texts, shapes.inserts, shapes.extras)


def _mirrored(points: Array, start: Array, end: Array) -> Array:
    along = (end - start) / np.hypot(*(end - start))
    off = points - start
    image: Array = start + 2.0 * np.outer(off @ along, along) - off
    return image


def _unfolded(points: Array, run: list[int], start: Array, end: Array) -> Array:
    """Return the outline with its mirror image; `run` are the vertices on the fold."""
    count = len(points)
    first, last = run[0], run[-1]
    size = (first - last) % count
    rest = points[np.arange(last, last + size + 1) % count]
    image = _mirrored(rest[1:-1][::-1], start, end)
    return np.vstack([rest, image])
