"""What lies inside a piece, seen against its outline."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from propagate.engine.distortion.outline import Told
from propagate.geometry.arrays import Array
from propagate.geometry.polyline import locate_all
from propagate.pattern.model import SizedPiece

__all__ = ["inside_changes", "lines_off", "marks_outside"]

_ON_MM = 0.1
_OFF_MM = 0.5
_NEAR_MM = 10.0
"""A mark nearer to the outline than a usual allowance is in the seam (common practice)."""


def inside_changes(old: SizedPiece, new: SizedPiece) -> Iterator[Told]:
    """Find lines off the outline, marks that came out or into a seam, lost darts."""
    yield from lines_off(old, new)
    yield from marks_outside(old, new)
    inside = shapely.Polygon(new.outline)
    was_line, now_line = _close_outline(old), _close_outline(new)
    marks = {mark.name: mark.point for mark in new.drills}
    for mark in old.drills:
        if mark.name not in marks:
            continue
        _, before = locate_all(was_line, np.array([mark.point]))
        _, after = locate_all(now_line, np.array([marks[mark.name]]))
        if before[0] >= _NEAR_MM > after[0] and inside.covers(shapely.Point(marks[mark.name])):
            yield (
                f"mark '{mark.name}' came within {after[0]:.1f} mm of the seam line",
                "move it, or look whether it stays clear of the seam",
                ("mark near the seam line", mark.name),
            )
    gone = {dart.name for dart in old.darts} ^ {dart.name for dart in new.darts}
    for name in sorted(gone):
        yield (
            f"dart '{name}' is on one of the old and the new piece alone",
            "look whether the piece is to have it",
            (),
        )


def lines_off(old: SizedPiece, new: SizedPiece) -> Iterator[Told]:
    """Find lines that ended on the outline and no longer do."""
    was_line, now_line = _close_outline(old), _close_outline(new)
    lines = {line.name: line.points for line in new.lines}
    for line in old.lines:
        if line.name not in lines:
            continue
        _, before = locate_all(was_line, line.points[[0, -1]])
        _, after = locate_all(now_line, lines[line.name][[0, -1]])
        off = after[(before <= _ON_MM) & (after > _OFF_MM)]
        if len(off):
            yield (
                f"line '{line.name}' ended on the outline and now ends {off.max():.1f} mm off it",
                "run it on to the outline, or trim it there",
                ("line off the outline", line.name),
            )


def marks_outside(old: SizedPiece, new: SizedPiece) -> Iterator[Told]:
    """Find marks and lines that lay within the piece and lie, in part, outside of it now.

    A mark that keeps its distances from two edges may come to lie beyond a third.
    """
    was, now = _collect_points(old), _collect_points(new)
    for kind, name in was:
        if (kind, name) in now and _out_by(old, was[kind, name]) <= _ON_MM:
            out = _out_by(new, now[kind, name])
            if out > _OFF_MM:
                yield (
                    f"{kind} '{name}' lay within the piece and lies up to {out:.1f} mm outside of "
                    "it now",
                    "put it where it belongs before cutting",
                    ("outside of the piece", name),
                )


def _collect_points(piece: SizedPiece) -> dict[tuple[str, str], Array]:
    """Collect points of the marks and lines inside a piece."""
    marks = {("mark", mark.name): np.array([mark.point]) for mark in piece.drills}
    return {**marks, **{("line", line.name): line.points for line in piece.lines}}


def _out_by(piece: SizedPiece, points: Array) -> float:
    """Measure how far the farthest of some points lies outside of a piece, mm."""
    area = shapely.Polygon(piece.outline)
    return float(shapely.distance(area, shapely.points(points)).max())


def _close_outline(piece: SizedPiece) -> Array:
    return np.vstack([piece.outline, piece.outline[:1]])
