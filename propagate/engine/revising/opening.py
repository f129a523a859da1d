"""An opening that was moved along its outline in the base size, carried to another size.

Its ends are carried like every corner.  But there they lie on the outline of that size, and
a line that was moved as it is keeps its length, as on paper: it is swung about its end on
the crossing edge until the other end meets the side.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.engine.marks_on_lines import follow_line
from propagate.engine.relations.cut import cut_segment
from propagate.engine.relations.ends import with_corners
from propagate.engine.reshape import rounded
from propagate.engine.revising.register import Registered
from propagate.engine.state import Split
from propagate.engine.tape import Silhouette, edge_from_parts, tape
from propagate.geometry.crossing import circle_crossings
from propagate.geometry.polyline import locate, locate_all, point_at
from propagate.pattern.model import Edge, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Opening
from propagate.tolerances import OPENING_LENGTH_MM, RESTS_MM

__all__ = ["seat_openings"]

Array = npt.NDArray[np.float64]


def seat_openings(
    pattern: PatternSet,
    name: str,
    size: str,
    source: Registered,
    carried: SizedPiece,
    within: float,
) -> SizedPiece:
    """A carried piece with its openings on the outline, where they are so in the base size.

    Parameters
    ----------
    pattern : PatternSet
    name, size : str
        Of the piece, and the size that it was carried to.
    source : Registered
        What was drawn in the base size.
    carried : SizedPiece
    within : float
        mm within which the drawing lies on the old outline.
    """
    for opening in pattern.relations.openings.values():
        if opening.piece == name:
            carried = _seat_opening(pattern, opening, size, source.piece, carried, within)
    return carried


def _seat_opening(
    pattern: PatternSet,
    opening: Opening,
    size: str,
    drawn: SizedPiece,
    carried: SizedPiece,
    within: float,
) -> SizedPiece:
    base = tape(pattern, opening.silhouette, pattern.base)
    was = base.sized[opening.piece].edge(opening.edge)
    now = drawn.edge(opening.edge)
    ends = _turn_across_first(opening, now.points)[[0, -1]]
    moved = np.hypot(*(ends - _turn_across_first(opening, was.points)[[0, -1]]).T).max()
    names = (opening.across, opening.side)
    gaps = [locate(base.edge(edge).points, end)[1] for edge, end in zip(names, ends, strict=True)]
    if moved <= within or max(gaps) > within:
        return carried
    own = tape(pattern, opening.silhouette, size)
    rigid = abs(now.length - was.length) <= OPENING_LENGTH_MM
    line, splits = _draw_line(opening, own, carried, rigid)
    old = carried.edge(opening.edge)
    fresh = Edge(old.name, line if opening.across_end == "start" else line[::-1], old.turns)
    new = with_corners(carried, old, fresh)
    for edge, split in zip(names, splits, strict=True):
        new = _cut_beside(base, own, opening, edge, drawn, new, split, within)
    marks = tuple(follow_line(new, carried, mark) for mark in new.landmarks)
    return replace(new, landmarks=marks)


def _turn_across_first(opening: Opening, points: Array) -> Array:
    return points if opening.across_end == "start" else points[::-1]


def _draw_line(
    opening: Opening, own: Silhouette, carried: SizedPiece, rigid: bool
) -> tuple[Array, tuple[Split, Split]]:
    """The opening with its ends on the outline, and the two places, from the crossing edge."""
    across, side = own.edge(opening.across).points, own.edge(opening.side).points
    line = _turn_across_first(opening, carried.edge(opening.edge).points)
    aim = line[-1]
    pin, _ = locate(across, line[0])
    pin_point = rounded(point_at(across, pin))
    landing, _ = locate(side, aim)
    if rigid:
        kept = _turn_across_first(opening, own.sized[opening.piece].edge(opening.edge).points)
        hits = circle_crossings(side, pin_point, float(np.hypot(*(kept[-1] - kept[0]))))
        if len(hits):
            line = kept
            landing = min(hits.tolist(), key=lambda hit: np.hypot(*(point_at(side, hit) - aim)))
    low_point = rounded(point_at(side, landing))
    z = (line - line[0]) @ np.array([1.0, 1j])
    z = z * (complex(*(low_point - pin_point)) / z[-1])
    points = rounded(np.column_stack([z.real, z.imag]) + pin_point)
    points[0], points[-1] = pin_point, low_point
    return points, (Split(pin, pin_point), Split(landing, low_point))


def _cut_beside(
    base: Silhouette,
    own: Silhouette,
    opening: Opening,
    name: str,
    drawn: SizedPiece,
    new: SizedPiece,
    split: Split,
    within: float,
) -> SizedPiece:
    """Cut the piece's edge beside the opening from the outline, where it was drawn so."""
    spans = [segment.span for segment in own.segments[name]]
    mine = next(span.edge for span in spans if span.piece == opening.piece)
    _, gaps = locate_all(base.edge(name).points, drawn.edge(mine).points)
    if gaps.max() > within:
        return new
    first = spans[0].piece == opening.piece
    outline, old = own.edge(name), new.edge(mine)
    far = Split(0.0, outline.points[0]) if first else Split(outline.length, outline.points[-1])
    begin, end = (far, split) if first else (split, far)
    part = cut_segment(outline.points, begin, end)
    turns = outline.turn_points
    if np.hypot(*(part[0] - old.points[0])) > np.hypot(*(part[-1] - old.points[0])):
        part = part[::-1]
    kept = np.hypot(*(part[[0, -1]] - old.points[[0, -1]]).T) <= RESTS_MM
    if not kept.all():
        return new  # its far corner was moved
    part = np.vstack([old.points[:1], part[1:-1], old.points[-1:]])
    edges = tuple(edge_from_parts(mine, [part], turns) if e is old else e for e in new.edges)
    return replace(new, edges=edges)
