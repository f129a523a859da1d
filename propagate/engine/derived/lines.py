"""The lines of a main piece that a derived piece lies on, darts closed, and their parallels."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

import numpy as np

from propagate.engine.tape import Silhouette
from propagate.errors import EditError
from propagate.geometry.arrays import Array, cross_product
from propagate.geometry.corner import line_corners
from propagate.geometry.directions import End, end_direction
from propagate.geometry.motion import IDENTITY, Motion, from_two_points
from propagate.geometry.parallel import distinct_rows, offset_line
from propagate.geometry.polyline import between, join, length, locate_all, point_at, points_at, unit
from propagate.pattern.model import frozen_points
from propagate.tolerances import RESTS_MM, SAME_POINT_MM
from propagate.values import dataclass

__all__ = [
    "Closed",
    "MainLine",
    "beside_line",
    "close_darts",
    "darts_on",
    "inner_line",
    "main_line",
    "places_on",
    "refuse_derived",
]

_BACK = -0.9
"""Cosine of a turn by more than 150 degrees."""
_END_MM = 5.0
"""A line is run on in the direction that its last stretch of this length has at its end."""
_CORNER_DEG = 10.0
"""A line that turns by more between two chords has a corner there (flat curves turn by 2)."""


@dataclass(frozen=True, eq=False)
class MainLine:
    """A line of the main piece and the parallel of it that the derived piece lies on.

    Attributes
    ----------
    base : (n, 2) array, read-only, mm
        The main piece's line, with darts closed and in its direction.
    width : float
        How far outside of it the derived piece lies, mm; less than 0: inside.
    places : mapping of mark to its distance along `base`, mm
        ``start`` and ``end`` among them.
    turns : (k, 2) array
        The corners inside `base`.
    inner : bool
        It is no edge but a line inside the main piece, drawn in either direction.
    allowance : float or None
        Of a line that is counted from the cut line, where that is more than parallels: how far
        outside of its edge `base` lies, mm.  It goes on as its last chord, as a cut line does,
        whatever curve that stands for.
    """

    base: Array
    width: float
    places: Mapping[str, float]
    turns: Array
    inner: bool = False
    allowance: float | None = None

    @property
    def out(self) -> float:
        """How far outside of its edge it may lie, mm."""
        return abs(self.width) if self.inner else self.width + (self.allowance or 0.0)

    @cached_property
    def points(self) -> Array:
        """(m, 2) the parallel, mm, in the direction of the base."""
        if self.width >= 0.0:
            return _without_spurs(offset_line(self.base, self.width))
        return _without_spurs(offset_line(self.base[::-1], -self.width)[::-1])

    def run_on(self, by: float, *, base: bool = False) -> Array:
        """Return the parallel, or the base, run on straight at both ends, mm."""
        points = self.base if base else self.points
        (back, from_first), (ahead, to_last) = self._base_ends if base else self._ends
        inner = points[int(from_first) : len(points) - int(to_last)]
        return np.vstack([points[0] - by * back, inner, points[-1] + by * ahead])

    @cached_property
    def _ends(self) -> tuple[tuple[Array, bool], ...]:
        return self._ways_on(self.points)

    @cached_property
    def _base_ends(self) -> tuple[tuple[Array, bool], ...]:
        return self._ways_on(self.base)

    def _ways_on(self, points: Array) -> tuple[tuple[Array, bool], ...]:
        """Tell how a line is run on at both ends, and if its last chord has that direction."""
        sides: tuple[tuple[End, Array], ...] = (
            ("start", points[1] - points[0]),
            ("end", points[-1] - points[-2]),
        )
        found = []
        for end, step in sides:
            if self.allowance is None:
                way = unit(end_direction(points, end, window=_END_MM))
            else:
                way = step / np.hypot(*step)
            straight = bool(abs(cross_product(way, step)) <= SAME_POINT_MM)
            found.append((way, straight))
        return tuple(found)

    def turns_of(self, points: Array) -> tuple[int, ...]:
        """Return indices of the inner vertices of a part of the parallel that are corners."""
        inner = points[1:-1]
        if self.width == 0.0:
            gap = np.abs(inner[:, None, :] - self.turns[None, :, :]).max(axis=2)
            return tuple((np.flatnonzero((gap <= SAME_POINT_MM).any(axis=1)) + 1).tolist())
        return tuple(line_corners(points, _CORNER_DEG))


@dataclass(frozen=True, eq=False)
class Closed:
    """An edge of a main piece with its darts closed: what lies beyond a dart turns about its tip.

    Attributes
    ----------
    base : (n, 2) array, mm
    places : mapping of mark to its distance along `base`, mm
    beyond : Motion
        Of what follows the edge on the outline.
    """

    edge: str
    base: Array
    places: Mapping[str, float]
    beyond: Motion


def places_on(taped: Silhouette, edge: str) -> dict[str, float]:
    """Return distances along an edge of a silhouette at which its marks lie, mm.

    Marks of a plain piece are called by their names, those of an assembly ``PIECE.LANDMARK``.
    """
    found = {"start": 0.0, "end": taped.edge(edge).length}
    for piece in dict.fromkeys(segment.span.piece for segment in taped.segments[edge]):
        for mark in taped.sized[piece].landmarks:
            placed = taped.place(piece, mark.name)
            if placed is not None and placed[0] == edge:
                name = mark.name if piece == taped.name else f"{piece}.{mark.name}"
                found[name] = placed[1]
    return found


def close_darts(taped: Silhouette, edge: str) -> Closed:
    """Close the darts on an edge: each part turns about the tip until the legs meet."""
    points, marks = taped.edge(edge).points, places_on(taped, edge)
    begin, done, motion = 0.0, 0.0, IDENTITY
    parts: list[Array] = []
    places: dict[str, float] = {}
    for low, high, tip in [*darts_on(taped, edge), (marks["end"], marks["end"], None)]:
        part = motion.apply(between(points, begin, low))
        parts.append(part if not parts else np.vstack([parts[-1][-1:], part[1:]]))
        near = (begin - SAME_POINT_MM, low + SAME_POINT_MM)
        places.update({n: done + at - begin for n, at in marks.items() if near[0] <= at <= near[1]})
        done += length(parts[-1])
        if tip is not None:
            legs = point_at(points, high), point_at(points, low)
            # Legs of different lengths meet at the edge, as they are pinned.
            fold = from_two_points([legs[0], tip], [legs[1], tip])
            motion, begin = motion.after(fold), high
    return Closed(edge, join(parts), {**places, "end": done}, motion)


def darts_on(taped: Silhouette, edge: str) -> list[tuple[float, float, Array | None]]:
    """Return both legs of each dart on an edge, mm along it, and its tip, in order."""
    found: list[tuple[float, float, Array | None]] = []
    for name, piece in taped.sized.items():
        for dart in piece.darts:
            legs = [taped.place(name, leg) for leg in dart.legs]
            at = sorted(placed[1] for placed in legs if placed is not None and placed[0] == edge)
            if len(at) == 2:
                found.append((at[0], at[1], taped.motions[name].apply(dart.tip)))
    return sorted(found, key=lambda dart: dart[0])


def main_line(
    taped: Silhouette, edge: str, width: float, closed: Closed | None, motion: Motion
) -> MainLine:
    """Return the line on which an edge of a derived piece lies.

    Parameters
    ----------
    width : float
        mm outside.
    closed : Closed or None
        Darts that are closed on this edge.
    motion : Motion
        How it turns with darts that are closed on others.
    """
    drawn = taped.edge(edge)
    if closed is not None:
        return MainLine(_without_specks(closed.base), width, closed.places, drawn.turn_points)
    base = _without_specks(motion.apply(drawn.points))
    return MainLine(base, width, places_on(taped, edge), motion.apply(drawn.turn_points))


def beside_line(
    taped: Silhouette, edge: str, stretch: Array, allowance: float, width: float, motion: Motion
) -> MainLine:
    """Return the line that is counted from the stretch of a cut line beside an edge.

    Marks of the edge lie where the stretch is nearest to them.

    Parameters
    ----------
    stretch : (n, 2) array, mm
    allowance : float
        mm of the edge.
    width : float
        mm outside of the stretch.
    motion : Motion
        How it turns with darts that are closed on other edges.
    """
    # Where a cut line was freed of a loop it can turn back by thousandths of a millimetre.
    base = _without_spurs(_without_specks(stretch))
    marks = places_on(taped, edge)
    along, _ = locate_all(base, points_at(taped.edge(edge).points, np.array([*marks.values()])))
    places = {**dict(zip(marks, along.tolist(), strict=True)), "start": 0.0, "end": length(base)}
    base = frozen_points(motion.apply(base))
    turns = base[line_corners(base, _CORNER_DEG)].reshape(-1, 2)
    return MainLine(base, width, places, turns, allowance=allowance)


def inner_line(taped: Silhouette, name: str, width: float, motion: Motion) -> MainLine:
    """Return the line on which an edge lies that follows an inner line of the main piece.

    Parameters
    ----------
    name : str
        ``LINE`` of a plain piece, ``PIECE.LINE`` of an assembly.
    width : float
        mm to the right of the line as it is drawn.
    motion : Motion
        How it turns with darts that are closed.
    """
    piece, line = (taped.name, name) if taped.name in taped.sized else name.split(".", 1)
    found = next(one for one in taped.sized[piece].lines if one.name == line)
    base = _without_specks(motion.apply(taped.motions[piece].apply(found.points)))
    places = {"start": 0.0, "end": length(base)}
    turns = base[line_corners(base, _CORNER_DEG)].reshape(-1, 2)
    return MainLine(base, width, places, turns, inner=True)


def _without_specks(points: Array) -> Array:
    """Return a line without vertices that all but coincide: a speck has no direction of its own.

    The leg of a dart may lie a fraction of a thousandth beside its vertex; the parallel of
    the chord between the two would be a spur as long as the parallel is far.
    """
    return frozen_points(points[distinct_rows(points, RESTS_MM)])


def _without_spurs(points: Array) -> Array:
    """Drop vertices at which a parallel turns back on itself, where a loop was cut out."""
    while len(points) > 2:
        steps = np.diff(points, axis=0)
        steps = steps / np.hypot(*steps.T)[:, None]
        cosines = (steps[:-1] * steps[1:]).sum(axis=1)
        back = int(cosines.argmin())
        if cosines[back] > _BACK:
            break
        points = np.delete(points, back + 1, axis=0)
        apart = np.hypot(*np.diff(points, axis=0).T) > SAME_POINT_MM
        points = points[np.concatenate([[True], apart])]
    return frozen_points(points)


def refuse_derived(where: str, text: str) -> EditError:
    """Say that a derived piece cannot be."""
    return EditError(f"derived piece {where}: {text}")
