"""A line parallel to one polyline, at its right-hand side."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from propagate.geometry.arrays import Array, cross_product
from propagate.geometry.joints import MITRE_LIMIT, blunt_tip
from propagate.geometry.polyline import arc_lengths, point_at
from propagate.tolerances import SAME_POINT_MM

__all__ = ["distinct", "mitred_line", "offset_line", "right_normals"]


def offset_line(points: Array, width: float, *, run_on: tuple[float, float] = (0.0, 0.0)) -> Array:
    """Draw the line at `width` to the right of a polyline, the outer side of an outline.

    Each chord is moved square to itself; neighbouring chords meet in a mitre.  Loops
    that arise where the polyline bends towards its right more tightly than `width`
    are cut out: no part of the result is nearer than `width`.

    Parameters
    ----------
    points : (n, 2) array, mm
    width : float, mm
        0 gives the polyline itself.
    run_on : (float, float), mm
        How far the line is run on straight at its start and its end.  This is done
        before loops are cut out: where the last chords are in a loop, only the line
        run on meets the rest.
    """
    seam = distinct(points)
    raw = _lengthen_ends(mitred_line(seam, width) if width > 0.0 else seam, run_on)
    if width == 0.0:
        return raw
    edge = shapely.LineString(seam)
    if _keeps_away(raw, edge, width).all() and shapely.LineString(raw).is_simple:
        return raw
    noded = _add_nodes(raw)
    kept = _keeps_away(noded, edge, width)
    if not kept.any():
        return raw
    ends = np.zeros(len(noded), dtype=bool)
    ends[:-1] |= kept
    ends[1:] |= kept
    return distinct(noded[ends])


def _lengthen_ends(line: Array, by: tuple[float, float]) -> Array:
    """Move the ends of a line straight ahead."""
    if by == (0.0, 0.0):
        return line
    longer = line.copy()
    for end, inner, distance in ((0, 1, by[0]), (-1, -2, by[1])):
        chord = line[end] - line[inner]
        longer[end] = line[end] + distance * chord / float(np.hypot(*chord))
    return longer


def distinct(points: Array) -> Array:
    """Drop doubled points of a polyline; both ends stay."""
    rows = distinct_rows(points)
    return points if len(rows) == len(points) else points[rows]


def distinct_rows(points: Array, within: float = SAME_POINT_MM) -> list[int]:
    """Return indices of the points of a polyline that do not coincide within mm; both ends stay."""
    steps = np.hypot(*(points[1:] - points[:-1]).T)
    if steps.min() > within:
        return list(range(len(points)))
    rows = [0]
    for k in range(1, len(points)):
        if np.hypot(*(points[k] - points[rows[-1]])) > within:
            rows.append(k)
    if rows[-1] != len(points) - 1:
        rows[-1 if len(rows) > 1 else len(rows) :] = [len(points) - 1]
    return rows


def right_normals(points: Array) -> Array:
    """Return (n-1, 2) unit vectors to the right of every chord."""
    delta = points[1:] - points[:-1]
    delta = delta / np.hypot(delta[:, 0], delta[:, 1])[:, None]
    return np.column_stack([delta[:, 1], -delta[:, 0]])


def mitred_line(seam: Array, width: float) -> Array:
    """Offset line before loops are cut out; one or two points for every vertex."""
    normals = right_normals(seam)
    before, after = normals[:-1], normals[1:]
    cos = (before * after).sum(axis=1)
    left = cross_product(before, after) >= 0.0
    inner = seam[1:-1]
    # A mitre is as long as width / cos(turn / 2) = width / sqrt((1 + cos) / 2).
    sharp = np.where(left, (1.0 + cos) / 2.0 < 1.0 / MITRE_LIMIT**2, cos < 0.5)
    scale = width / np.where(sharp, 1.0, 1.0 + cos)
    mitres = inner + scale[:, None] * (before + after)
    ends = seam[:1] + width * normals[:1], seam[-1:] + width * normals[-1:]
    if not sharp.any():
        return np.concatenate([ends[0], mitres, ends[1]])
    tips = np.repeat(mitres[:, None, :], 2, axis=1)
    for i in np.flatnonzero(sharp):
        if left[i]:
            tips[i] = blunt_tip(inner[i], (before[i], after[i]), (width, width))
        else:
            tips[i] = inner[i] + width * before[i], inner[i] + width * after[i]
    kept = np.column_stack([np.ones_like(sharp), sharp])
    return np.concatenate([ends[0], tips[kept], ends[1]])


def _keeps_away(line: Array, edge: shapely.LineString, width: float) -> npt.NDArray[np.bool_]:
    """Return (n-1,) whether the middle of every chord is no nearer to an edge than `width`, mm."""
    shapely.prepare(edge)
    middles = shapely.points((line[1:] + line[:-1]) / 2.0)
    near: npt.NDArray[np.bool_] = shapely.dwithin(edge, middles, width - SAME_POINT_MM)
    return ~near


def _add_nodes(line: Array) -> Array:
    """Add a vertex to a line wherever it crosses itself."""
    chords = shapely.linestrings(np.stack([line[:-1], line[1:]], axis=1))
    i, j = shapely.STRtree(chords).query(chords, predicate="intersects")
    apart = j > i + 1
    i, j = i[apart], j[apart]
    line = np.array(line)
    line.setflags(write=False)  # so that its arc is worked out once
    arc = arc_lengths(line)
    delta = line[1:] - line[:-1]
    gap = line[j] - line[i]
    cross = cross_product(delta[i], delta[j])
    real = cross != 0.0
    i, j, gap, cross = i[real], j[real], gap[real], cross[real]
    t = cross_product(gap, delta[j]) / cross
    u = cross_product(gap, delta[i]) / cross
    steps = np.diff(arc)
    places = np.concatenate([arc, arc[i] + t * steps[i], arc[j] + u * steps[j]])
    return np.vstack([point_at(line, place) for place in np.unique(places)])
