"""What is drawn beside an edge that laps over another or is turned back: nobody closes it.

A centre, a fold line or a row of buttonholes beside the edge tells a wrap, a lap or a facing that
is grown on from a centre seam, which is as straight and as square.  Common practice, no source.
"""

from __future__ import annotations

from itertools import product

import numpy as np
import numpy.typing as npt

from propagate.geometry.polyline import length, locate
from propagate.suggesting.nest import EdgeMeasure, Nest
from propagate.suggesting.proposal import Fact

__all__ = ["judge_laps"]

Array = npt.NDArray[np.float64]

OPEN = -4.0
"""What it says against a seam to the twin."""
SAME_MM = 1.0
"""What is parallel to the edge is as far from it everywhere, within this."""
LEAST_MM, LINE_MM, HOLES_MM = 5.0, 150.0, 60.0
"""A line that is turned along lies no farther from the edge, nor do buttonholes."""
ALONG = 0.8
"""Such a line is at least so long, in parts of the edge."""
SHORT_MM, ROW = 40.0, 3
"""Of a buttonhole, and how many make a row."""


def judge_laps(nest: Nest, edge: EdgeMeasure) -> list[Fact]:
    """What tells that an edge laps over another or is turned back; empty where nothing does."""
    for words in (_find_notches(nest, edge), _find_line(nest, edge), _find_row(nest, edge)):
        if words is not None:
            return [Fact(OPEN, words)]
    return []


def _find_notches(nest: Nest, edge: EdgeMeasure) -> str | None:
    """Notches of the edges beside it that mark a line along it, in every size."""
    before, after = nest.beside(edge)
    for a, b in product(sorted(before.notches), sorted(after.notches)):
        far, other = before.lengths - before.marks[a], after.marks[b]
        if float(np.abs(far - other).max()) <= SAME_MM and float(far.min()) >= LEAST_MM:
            at = float(far[nest.base])
            return f"{a} and {b} mark a line along it, {at:.0f} mm inside: it laps or is turned"
    return None


def _find_line(nest: Nest, edge: EdgeMeasure) -> str | None:
    """A line that is drawn along it, where a facing is turned or a centre lies."""
    sized = nest.in_base(edge.piece)
    own = sized.edge(edge.edge)
    for line in sized.lines:
        if length(line.points) < ALONG * own.length:
            continue
        far = np.array([locate(own.points, point)[1] for point in line.points])
        if np.ptp(far) <= SAME_MM and LEAST_MM <= far.max() <= LINE_MM:
            return f"a line is drawn along it, {far.mean():.0f} mm inside: it laps or is turned"
    return None


def _find_row(nest: Nest, edge: EdgeMeasure) -> str | None:
    """A row of buttonholes or buttons along it."""
    sized = nest.in_base(edge.piece)
    short = [one.points for one in sized.lines if length(one.points) <= SHORT_MM]
    middles = [np.array(drill.point) for drill in sized.drills]
    middles += [(points.min(axis=0) + points.max(axis=0)) / 2 for points in short]
    apart: list[Array] = []
    for middle in middles:  # a hole may be drawn in several strokes
        if all(float(np.hypot(*(middle - other))) > SAME_MM for other in apart):
            apart.append(middle)
    far = [locate(sized.edge(edge.edge).points, middle)[1] for middle in apart]
    for one in sorted(far):
        row = sum(one <= gap <= one + SAME_MM for gap in far)
        if one <= HOLES_MM and row >= ROW:
            return f"a row of {row} marks lies along it, {one:.0f} mm inside: it is buttoned"
    return None
