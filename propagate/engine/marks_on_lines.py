"""Put a mark on a line: every way to find its place, and the one that puts it there.

An edge that was drawn anew has its marks to be placed on it again.  A policy tells the place as a
distance along the edge; `put_mark` puts the mark there.  Who asks chooses the policy:

======================  ==========================================================================
`kept_place`            it keeps its place, where that is on the line
`nearest_place`         the place nearest to where it was, or to where its point went
`share_place`           the same share of the line's length
`walked_place`          so far from an end: walked along the line, or along that of its mate
`slid_place`            from where it is, so far along the line
`kept_or_share`         it keeps its place, else its share
`followed_place`        it keeps its place, else the nearest, else its share
======================  ==========================================================================

A mark whose very point is known (a corner, a vertex, a motion of the part that it lies on) is put
there by `put_mark_at`.  No other module of the engine makes a landmark.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from propagate.engine.reshape import rounded
from propagate.geometry.correspond import NOISE_MM
from propagate.geometry.polyline import as_pair, locate, point_at
from propagate.pattern.model import Edge, Landmark, LandmarkKind, SizedPiece
from propagate.tolerances import SAME_POINT_MM

__all__ = [
    "End",
    "follow_line",
    "followed_place",
    "kept_or_share",
    "kept_place",
    "make_mark",
    "nearest_place",
    "put_mark",
    "put_mark_at",
    "share_place",
    "slid_place",
    "walked_place",
    "with_marks",
]

End = Literal["start", "end"]

_FAR_MM = 50.0
"""Where an edge went farther than this, the nearest place says nothing of a mark."""


# ------------------------------------------------------------------------------ its place


def kept_place(edge: Edge, mark: Landmark, within: float = SAME_POINT_MM) -> float | None:
    """Where a mark lies on a line, when it lies on it.

    Parameters
    ----------
    edge : Edge
        As it is now.
    mark : Landmark
        With the point that it had.
    within : float
        mm; what is off the line by less is on it.

    Returns
    -------
    float or None
        Distance from the start of the edge, mm; None when the line has left the mark.
    """
    along, gap = locate(edge.points, mark.point)
    return along if gap <= within else None


def nearest_place(edge: Edge, point: npt.ArrayLike) -> float:
    """Distance along an edge of the place nearest to a point (2,), mm."""
    return locate(edge.points, point)[0]


def share_place(old: SizedPiece, edge: Edge, mark: Landmark) -> float:
    """Distance at which a mark has the share of its edge's length that it had, mm.

    Parameters
    ----------
    old : SizedPiece
        With the edge and the mark as they were.
    edge : Edge
        As it is now.
    mark : Landmark
    """
    return old.distance(mark.edge, mark.name) / old.edge(mark.edge).length * edge.length


def walked_place(edge: Edge, distance: float, end: End = "start") -> float:
    """Distance from the start of an edge of what lies so far from one of its ends, mm.

    Parameters
    ----------
    edge : Edge
        As it is now.
    distance : float
        mm from the end, along the line: as far as the mark was, or as its mate is.
    end : "start" or "end"
    """
    return distance if end == "start" else edge.length - distance


def slid_place(piece: SizedPiece, mark: Landmark, by: float) -> float:
    """Distance along its edge of a mark that slides towards the end by so many mm."""
    return piece.distance(mark.edge, mark.name) + by


def kept_or_share(old: SizedPiece, edge: Edge, mark: Landmark, within: float = NOISE_MM) -> float:
    """Distance of a mark that only follows its line, mm: where the line stayed, it stays.

    Parameters
    ----------
    old : SizedPiece
        With the edge and the mark as they were.
    edge : Edge
        As it is now.
    mark : Landmark
    within : float
        mm; see `kept_place`.
    """
    if edge is old.edge(mark.edge):
        return old.distance(mark.edge, mark.name)
    kept = kept_place(edge, mark, within)
    return share_place(old, edge, mark) if kept is None else kept


def followed_place(old: SizedPiece, edge: Edge, mark: Landmark) -> float:
    """Distance of a mark on an edge that was moved or lengthened at its ends, mm.

    What is marked on such an edge stays where it is, or on the place nearest to that: a hip
    notch at its height, and the legs of a dart as far apart as they were.  Where the line went
    far, or the nearest place of what lay within it is an end, it keeps its share.

    Parameters
    ----------
    old : SizedPiece
        With the edge and the mark as they were.
    edge : Edge
        As it is now.
    mark : Landmark
    """
    along, gap = locate(edge.points, mark.point)
    if gap <= SAME_POINT_MM:
        return along
    was, size = old.distance(mark.edge, mark.name), old.edge(mark.edge).length
    lay_within = SAME_POINT_MM < was < size - SAME_POINT_MM
    at_end = not SAME_POINT_MM < along < edge.length - SAME_POINT_MM
    if gap <= _FAR_MM and not (at_end and lay_within):
        return along
    return share_place(old, edge, mark)


# ------------------------------------------------------------------------------ put there


def put_mark(mark: Landmark, edge: Edge, distance: float, rests: float = SAME_POINT_MM) -> Landmark:
    """Put a mark on an edge; one that is there already keeps every digit.

    Parameters
    ----------
    mark : Landmark
    edge : Edge
        That it is to lie on.
    distance : float
        From its start, mm, by one of the policies; outside, the mark is put at the end.
    rests : float
        mm; a mark this close to its place is there.
    """
    x, y = as_pair(rounded(point_at(edge.points, distance)))
    if mark.edge == edge.name and np.hypot(x - mark.point[0], y - mark.point[1]) <= rests:
        return mark
    return replace(mark, edge=edge.name, point=(x, y))


def put_mark_at(mark: Landmark, point: npt.ArrayLike) -> Landmark:
    """Put a mark at a point (2,) of its edge that is known, digit for digit."""
    there = as_pair(np.asarray(point, dtype=np.float64))
    return mark if there == mark.point else replace(mark, point=there)


def make_mark(name: str, kind: LandmarkKind, edge: Edge, distance: float) -> Landmark:
    """Make a mark on an edge at a distance from its start, mm."""
    return Landmark(name, edge.name, as_pair(rounded(point_at(edge.points, distance))), kind)


def follow_line(new: SizedPiece, old: SizedPiece, mark: Landmark) -> Landmark:
    """Let a mark follow its edge (`followed_place`).

    Parameters
    ----------
    new, old : SizedPiece
        With the edge as it is, and with the edge and the mark as they were.
    mark : Landmark
    """
    edge = new.edge(mark.edge)
    if edge is old.edge(mark.edge):
        return mark
    return put_mark(mark, edge, followed_place(old, edge, mark))


def with_marks(piece: SizedPiece, marks: Mapping[str, Landmark]) -> SizedPiece:
    """The piece with some of its marks exchanged, by name; the order stays."""
    return replace(piece, landmarks=tuple(marks.get(mark.name, mark) for mark in piece.landmarks))
