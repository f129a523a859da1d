"""Corners in their new places: along an old edge and square to it, or from two corners."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from propagate.geometry.polyline import length, locate
from propagate.report.worksheet.lengths import shown
from propagate.report.worksheet.value import NewCorner
from propagate.report.worksheet.words import Source

__all__ = ["new_corners", "side_words"]

Array = npt.NDArray[np.float64]


def new_corners(source: Source, piece: str) -> tuple[NewCorner, ...]:
    """Corners that moved, straight from two corners of the old outline."""
    pair = source.compared(piece)
    names = pair.now.edge_names
    found = []
    for i in range(len(names)):
        old, new = pair.corner(i)
        moved = source.chord(old, new)
        if not shown(moved, source.unit):
            continue
        found.append(_squared(source, piece, i) or _from_two(source, piece, i))
    return tuple(found)


def _squared(source: Source, piece: str, index: int) -> NewCorner | None:
    """The corner along one of its old edges and square to it; the nearer edge."""
    pair = source.compared(piece)
    names = pair.now.edge_names
    old, new = pair.corner(index)
    found = []
    for name in dict.fromkeys((names[index], names[(index + 1) % len(names)])):
        points = pair.old(name)
        if np.hypot(*(points[0] - old)) > np.hypot(*(points[-1] - old)):
            points = points[::-1]
        along, gap = locate(points, new)
        if along < length(points) - 1.0 and (along > 1.0 or gap < 0.05):
            found.append((gap, along, name))
    if not found:
        return None
    gap, along, name = min(found)
    text = f"{source.said(along)} along the old {name} from its old place"
    if shown(gap, source.unit):
        inside = pair.old_area.contains(shapely.Point(new))
        text += f", then {source.said(gap)} square {'into' if inside else 'out from'} the piece"
    return NewCorner(source.corner(piece, names[index], "end"), text, True, along, gap)


def _from_two(source: Source, piece: str, index: int) -> NewCorner:
    """The corner straight from its old place and from a neighbouring old corner."""
    pair = source.compared(piece)
    names = pair.now.edge_names
    old, new = pair.corner(index)
    other, end = _second(source, piece, index)
    far = pair.old(names[other])[0 if end == "start" else -1]
    first, second = source.chord(old, new), source.chord(far, new)
    name = source.corner(piece, names[other], end).bare
    text = (
        f"{source.said(first)} straight from its old place and {source.said(second)} straight "
        f"from the old {name}, {side_words(source, piece, (old, far), new)}"
    )
    return NewCorner(source.corner(piece, names[index], "end"), text, False, first, second)


def _second(source: Source, piece: str, index: int) -> tuple[int, str]:
    """The neighbouring old corner to measure from: the one whose direction tells most."""
    pair = source.compared(piece)
    count = len(pair.now.edges)
    old, new = pair.corner(index)
    step = (new - old) / np.hypot(*(new - old))
    choices = ((index, "start"), ((index + 1) % count, "end"))

    def aside(choice: tuple[int, str]) -> float:
        """How squarely the two arcs cross, less what a long arc costs."""
        edge, end = choice
        far = pair.old(pair.now.edge_names[edge])[0 if end == "start" else -1] - new
        size = float(np.hypot(*far))
        if size < 1.0:
            return -1.0
        return abs(float(step[0] * far[1] - step[1] * far[0])) / size - size / 2000.0

    return max(choices, key=aside)


def side_words(source: Source, piece: str, ends: tuple[Array, Array], new: Array) -> str:
    """Which of the two places that lie at two distances from two points is meant.

    The other one mirrors `new` in the line through both points.
    """
    pair = source.compared(piece)
    way = (ends[1] - ends[0]) / max(float(np.hypot(*(ends[1] - ends[0]))), 1e-12)
    off = new - ends[0]
    twin = ends[0] + 2.0 * (off @ way) * way - off
    inside, other = (pair.old_area.contains(shapely.Point(p)) for p in (new, twin))
    if inside != other:
        return f"{'inside' if inside else 'outside'} the old outline"
    gains = {}
    for name in pair.now.edge_names:
        far = pair.old(name)[-1]
        gains[name] = float(np.hypot(*(twin - far)) - np.hypot(*(new - far)))
    told = max(gains, key=lambda name: abs(gains[name]))
    word = "nearer to" if gains[told] > 0.0 else "farther from"
    corner = source.corner(piece, told, "end").bare
    return f"of the two places the one {word} the old {corner}"
