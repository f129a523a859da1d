"""A derived piece drawn from its region; what is its own is kept: free edges, marks, grain."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, replace

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.derived.dart_pleats import pleats_on, with_dart_pleats
from propagate.engine.derived.darts import SAME_MARK_MM, with_darts
from propagate.engine.derived.lines import MainLine, refuse_derived
from propagate.engine.derived.region import Region, common_places
from propagate.engine.marks_on_lines import nearest_place, put_mark, share_place, walked_place
from propagate.engine.reshape import rounded
from propagate.geometry.arrays import Array
from propagate.geometry.corner import signed_area
from propagate.geometry.motion import Motion, fit, from_two_points
from propagate.geometry.parallel import distinct_rows
from propagate.geometry.polyline import (
    are_alike,
    as_pair,
    between,
    locate,
    locate_all,
    measure_apart,
    nearest_point,
    point_at,
)
from propagate.pattern.derived import Derived
from propagate.pattern.info import PieceInfo
from propagate.pattern.model import Edge, Landmark, Mark, SizedPiece
from propagate.pattern.relations import Assembly
from propagate.tolerances import RESTS_MM, SAME_POINT_MM
from propagate.values import dataclass

__all__ = ["Drawing", "laid_on"]

_EASED = 20.0
"""A line that starts beside its place runs to it over this many times as far: 3 degrees."""


def laid_on(derived: Derived, piece: SizedPiece, region: Region) -> Motion:
    """Find the motion that lays a derived piece on its main piece, by corners that are defined.

    Raises
    ------
    EditError
        When fewer than two corners are defined.
    """
    own = [edge.points[0] for edge in piece.edges]
    pairs = [(a, b) for a, b in zip(own, region.corners, strict=True) if b is not None]
    if len(pairs) < 2:
        raise refuse_derived(
            region.where,
            f"{len(pairs)} of its corners are defined, expected two or more that say where it "
            "lies on the main piece; say 'start' and 'end' of an edge beside a free edge",
        )
    return fit(*zip(*pairs, strict=True), face_down=derived.face_down)[0]


@dataclass(frozen=True, eq=False)
class Drawing:
    """A derived piece before and after its main piece changed.

    Attributes
    ----------
    was : SizedPiece
        The piece as it was drawn on the main piece before.
    own : SizedPiece
        What its free edges and its inner marks are taken from.
    old, new : Region
        Before, and now.
    laid : Motion
        Its frame to the main piece's.
    anew : bool
        No edge is kept: it was not drawn as its definition has it.
    named : frozenset of str
        Landmarks of the piece that the set names.
    assemblies : mapping of name to Assembly
    """

    derived: Derived
    info: PieceInfo
    was: SizedPiece
    own: SizedPiece
    old: Region
    new: Region
    laid: Motion
    anew: bool = False
    named: frozenset[str] = frozenset()
    assemblies: Mapping[str, Assembly] = field(default_factory=dict)

    def piece(self) -> SizedPiece:
        """Draw the piece as its definition has it now.

        Raises
        ------
        EditError
            When it would be empty or in two parts.
        """
        corners = [self._corner(i) for i in range(len(self.was.edges))]
        edges = [
            self._keep_free(i, corners) if line is None else self._on_line(i, line, corners)
            for i, line in enumerate(self.new.lines)
        ]
        self._check(edges)
        drawn = replace(self.own, edges=tuple(edges))
        marks = tuple(self._put_mark(drawn, mark) for mark in self.own.landmarks)
        drawn = replace(drawn, landmarks=marks)
        regions = self.old, self.new
        drawn = with_darts(self.derived, self._with_shared(drawn), regions, self.laid, self.named)
        pleats = (
            pleats_on(self.derived, self.old, self.assemblies, self.was, self.laid),
            pleats_on(self.derived, self.new, self.assemblies, drawn, self.laid),
        )
        drawn = with_dart_pleats(self.new.where, drawn, pleats, self.laid, self.named)
        return self._with_inside(drawn)

    # ------------------------------------------------------------------------ corners

    def _corner(self, i: int) -> Array:
        """Find where edge `i` starts; digit for digit as drawn where its place is the same."""
        drawn = self.was.edges[i].points[0]
        old, new = self.old.corners[i], self.new.corners[i]
        if old is not None and new is not None:
            same = not self.anew and bool(np.abs(new - old).max() <= SAME_POINT_MM)
            return np.array(drawn) if same else rounded(self.laid.inverse().apply(new))
        for k, line in ((i, self.new.lines[i]), (i - 1, self.new.lines[i - 1])):
            if line is not None:
                return self._carried(k, drawn)
        return self._between_free(i)

    def _carried(self, i: int, place: npt.ArrayLike) -> Array:
        """Carry a place on edge `i`: it stays as far from the same mark of the main piece."""
        old, new = self.old.lines[i], self.new.lines[i]
        if old is None or new is None:
            return np.asarray(place, dtype=np.float64)
        by = max(self.old.stands_out, self.new.stands_out)
        along = locate(old.run_on(by, base=True), self.laid.apply(place))[0] - by
        was, now = common_places(old, new)
        nearest = min(was, key=lambda name: (abs(was[name] - along), name))
        before = _place_beside(old, along, by)
        after = _place_beside(new, along + now[nearest] - was[nearest], by)
        if np.hypot(*(after - before)) <= RESTS_MM:
            return np.asarray(place, dtype=np.float64)
        return rounded(self.laid.inverse().apply(after))

    def _between_free(self, i: int) -> Array:
        """Move a corner of two free edges with its chain of free edges."""
        return np.array(self._displaced(*self._chain(i), self.own.edges[i].points[:1])[0])

    # -------------------------------------------------------------------------- edges

    def _on_line(self, i: int, line: MainLine, corners: list[Array]) -> Edge:
        drawn, old = self.was.edges[i], self.old.lines[i]
        ends = corners[i], corners[(i + 1) % len(corners)]
        part = self._part(line, ends)
        still = all((a == b).all() for a, b in zip(ends, drawn.points[[0, -1]], strict=True))
        if still and old is not None and not self.anew:
            was = self._part(old, ends)
            if are_alike(was, part, SAME_POINT_MM) or measure_apart(was, part) <= SAME_POINT_MM:
                return drawn
        part = self._without_spurs(part, ends)
        points = rounded(self.laid.inverse().apply(part))
        points[[0, -1]] = ends
        rows = distinct_rows(points)  # a parallel may have two vertices in one place
        return Edge(drawn.name, points[rows], line.turns_of(part[rows]))

    def _without_spurs(self, part: Array, ends: tuple[Array, Array]) -> Array:
        """Return a line without the inner vertices that would make a spur at a corner.

        So does one that lies at the corner but for a digit, and one that lies hardly further
        along than the corner lies beside the line: the corner is as it was drawn.
        """
        inner, near = part[1:-1], np.zeros(len(part) - 2, dtype=bool)
        for end, place in zip(part[[0, -1]], map(self.laid.apply, ends), strict=True):
            beside = float(np.hypot(*(place - end)))
            near |= np.hypot(*(inner - place).T) <= max(RESTS_MM, _EASED * beside)
        return np.vstack([part[:1], inner[~near], part[-1:]])

    def _part(self, line: MainLine, ends: tuple[Array, Array]) -> Array:
        """Return the part of a line between two corners, in the frame of the main piece."""
        long = line.run_on(max(self.old.reach, self.new.reach))
        along = [locate(long, self.laid.apply(end))[0] for end in ends]
        if abs(along[1] - along[0]) <= SAME_POINT_MM:
            raise refuse_derived(self.new.where, "an edge of it has no length left: it is empty")
        return between(long, along[0], along[1])

    def _keep_free(self, i: int, corners: list[Array]) -> Edge:
        """Keep the shape of a free edge between its two corners."""
        drawn = self.own.edges[i]
        ends = corners[i], corners[(i + 1) % len(corners)]
        if all((a == b).all() for a, b in zip(ends, drawn.points[[0, -1]], strict=True)):
            return drawn
        points = self._displaced(*self._chain(i), drawn.points, i)
        points[[0, -1]] = ends
        return Edge(drawn.name, points, drawn.turns)

    def _chain(self, i: int) -> tuple[int, int]:
        """Return the first and the last of the free edges that follow each other about edge `i`."""
        count = len(self.new.lines)
        first = last = i
        while self.new.lines[(first - 1) % count] is None:
            first = (first - 1) % count
        while self.new.lines[(last + 1) % count] is None:
            last = (last + 1) % count
        return first, last

    def _displaced(self, first: int, last: int, points: Array, i: int | None = None) -> Array:
        """Move points of a chain of free edges, which turns with its ends.

        What the ends came nearer to each other, or went apart, runs out evenly along it.
        """
        count = len(self.own.edges)
        chain = [(first + k) % count for k in range((last - first) % count + 1)]
        was = self.own.edges[first].points[0], self.own.edges[last].points[-1]
        now = self._corner(first), self._corner((last + 1) % count)
        if min(np.hypot(*(b - a)) for a, b in (was, now)) <= RESTS_MM:
            turned = Motion(shift=complex(*(now[0] - was[0])))
        else:
            turned = from_two_points(was, now)
        left = now[1] - turned.apply(was[1])
        whole = sum(self.own.edges[k].length for k in chain)
        share = np.zeros(len(points))
        done = 0.0
        for k in chain:
            edge = self.own.edges[k]
            if i is None or k == i:
                along, off = locate_all(edge.points, points)
                share = np.where(off <= RESTS_MM, (done + along) / whole, share)
            done += edge.length
        return rounded(turned.apply(points) + share[:, None] * left)

    def _check(self, edges: list[Edge]) -> None:
        outline = np.concatenate([edge.points[:-1] for edge in edges])
        ring = shapely.Polygon(outline)
        if signed_area(outline) <= 0.0 and ring.is_valid:
            raise refuse_derived(
                self.new.where,
                "nothing of it is left (its lines lie beyond each other): it is empty",
            )
        if not ring.is_valid:
            raise refuse_derived(
                self.new.where,
                "its lines cross each other, so that it is in two parts, "
                f"{shapely.is_valid_reason(ring)}; expected one region: make it narrower, or "
                "divide the piece",
            )

    # -------------------------------------------------------------------------- marks

    def _put_mark(self, drawn: SizedPiece, mark: Landmark) -> Landmark:
        """Put a landmark on its edge as it is now."""
        i = self.was.edge_names.index(mark.edge)
        edge, before = drawn.edges[i], self.was.edges[i]
        known = {one.name for one in self.was.landmarks}
        if self.new.lines[i] is None or mark.name not in known:
            if edge is self.own.edges[i]:
                return mark
            return put_mark(mark, edge, share_place(self.own, edge, mark), RESTS_MM)
        was = self.was.landmark(mark.name)
        anchor = self.info.anchors.get(mark.name)
        if anchor in (f"{mark.edge}.start", f"{mark.edge}.end"):
            place = self.was.distance(mark.edge, mark.name)
            if anchor.endswith(".end"):
                place = walked_place(edge, before.length - place, "end")
        else:
            place = nearest_place(edge, self._carried(i, was.point))
        return put_mark(was, edge, place, RESTS_MM)

    def _with_inside(self, drawn: SizedPiece) -> SizedPiece:
        """Put dart tips and drill marks that the main piece shares where that has them."""
        back, new = self.laid.inverse(), _find_inner(self.new)
        moved = {
            name: (back.apply(point), back.apply(new[name]))
            for name, point in _find_inner(self.old).items()
            if name in new and np.hypot(*(new[name] - point)) > RESTS_MM
        }

        def put(point: tuple[float, float]) -> tuple[float, float]:
            for before, after in moved.values():
                if np.hypot(*(before - point)) <= SAME_MARK_MM:
                    return as_pair(rounded(after))
            return point

        return replace(
            drawn,
            darts=tuple(replace(dart, tip=put(dart.tip)) for dart in drawn.darts),
            drills=tuple(Mark(mark.name, put(mark.point)) for mark in drawn.drills),
        )

    def _with_shared(self, drawn: SizedPiece) -> SizedPiece:
        """Put dart tips and drill marks that were the main piece's where they were.

        They go with it. Sizes that are laid on each other by another centre than those of the
        main piece, as those of a lining beside its facing, have them elsewhere.
        """
        back = self.laid.inverse()
        main = np.array([back.apply(point) for point in _find_inner(self.old).values()]).reshape(
            -1, 2
        )

        def shared(place: tuple[float, float]) -> bool:
            return bool((np.hypot(*(main - place).T) <= SAME_MARK_MM).any())

        tips = {dart.name: dart.tip for dart in self.was.darts if shared(dart.tip)}
        drills = {mark.name: mark for mark in self.was.drills if shared(mark.point)}
        return replace(
            drawn,
            darts=tuple(replace(one, tip=tips.get(one.name, one.tip)) for one in drawn.darts),
            drills=tuple(drills.get(one.name, one) for one in drawn.drills),
        )


def _find_inner(region: Region) -> dict[tuple[str, str], Array]:
    """Find dart tips and drill marks of the main piece, in its frame."""
    taped = region.taped
    return {
        (name, mark): taped.motions[name].apply(point)
        for name, piece in taped.sized.items()
        for mark, point in (
            *((f"dart {dart.name}", dart.tip) for dart in piece.darts),
            *((f"drill {drill.name}", drill.point) for drill in piece.drills),
        )
    }


def _place_beside(line: MainLine, along: float, by: float) -> Array:
    """Find the place on the parallel beside a place of the main piece's line."""
    base = point_at(line.run_on(by, base=True), along + by)
    long = line.run_on(by)
    return nearest_point(long, base)
