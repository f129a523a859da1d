"""The cut line: a closed chain of edges moved outwards, each by its own allowance.

Every edge gets an offset line of its own, made of lines parallel to its chords
(`propagate.geometry.parallel`).  The corner treatments then lengthen or shorten neighbouring lines
(`propagate.geometry.joints`).  What lies between an edge and its line is a band of
cloth; the cut line is the outer boundary of the outline and all bands together, so
that lines which hit each other inside a tight hollow trim each other, however they
lie.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Final

import numpy as np
import shapely

from propagate.geometry.arrays import Array, Indices, cross_product
from propagate.geometry.corner import signed_area
from propagate.geometry.joints import Arm, Corner, join_arms, measure_run_on, runs_ahead
from propagate.geometry.parallel import distinct, mitred_line, offset_line, right_normals
from propagate.geometry.polyline import length, split
from propagate.tolerances import SAME_POINT_MM
from propagate.values import dataclass

__all__ = ["Corner", "OffsetOutline", "offset_chain", "odd_joints"]

STRAIGHT_MM: Final = 1e-8
"""A vertex this near to the chord of its neighbours is idle; so little that leaving
out many in a row shifts nothing (2 mm chords on an arc of 200 km radius)."""


@dataclass(frozen=True, eq=False)
class OffsetOutline:
    """A closed cut line and which stretch of it belongs to which edge.

    Attributes
    ----------
    points : (n, 2) array, read-only, mm
        Counter-clockwise, the first point not repeated.
    owners : (n,) int array, read-only
        Index of the edge that the chord from each point to the next belongs to.
    """

    points: Array
    owners: Indices

    @cached_property
    def area(self) -> float:
        """Area of the cut piece, mm^2."""
        return signed_area(self.points)

    def stretches(self, edge: int) -> tuple[Array, ...]:
        """Return polylines of one edge's stretch in outline order.

        Usually one; none when neighbours swallow the edge's line, more when they cut
        it in pieces.
        """
        count = len(self.owners)
        mine = self.owners == edge
        if mine.all():
            return (np.vstack([self.points, self.points[:1]]),)
        twice = np.concatenate([mine, mine])
        found = []
        for start in np.flatnonzero(mine & ~twice[count - 1 : -1]).tolist():
            size = int(np.argmin(twice[start:]))
            found.append(self.points[np.arange(start, start + size + 1) % count])
        return tuple(found)


def offset_chain(
    edges: Sequence[Array],
    widths: Sequence[float],
    corners: Sequence[Corner],
    *,
    turns: Sequence[Sequence[int]] = (),
) -> OffsetOutline:
    """Move a closed chain of edges outwards.

    Parameters
    ----------
    edges : sequence of (n, 2) arrays, mm
        Counter-clockwise, each starting where the one before ends.
    widths : sequence of float, mm
        Allowance of each edge; 0 leaves the edge as it is.
    corners : sequence of Corner
        Treatment of the joint where each edge ends.  An inward corner is trimmed
        where the offset lines cross, whatever its treatment.
    turns : sequence of sequences of int
        Vertices that are corners inside each edge; they bound the stretch from which
        the direction of a fold is estimated.

    Returns
    -------
    OffsetOutline
        Gaps that allowances enclose on all sides are filled.

    Raises
    ------
    ValueError
        When the chain is not counter-clockwise or crosses itself, when a width is
        negative or not finite, or when the counts differ.
    """
    _check_outline(edges, widths, corners)
    if len(edges) == 1:  # cut in two, so that each part has two ends
        halves = split(edges[0], length(edges[0]) / 2.0)
        found = offset_chain(halves, [widths[0]] * 2, [Corner.MITRE, corners[0]])
        owners = np.zeros_like(found.owners)
        owners.setflags(write=False)
        return OffsetOutline(found.points, owners)
    seams = [distinct(edge) for edge in edges]
    bands = _joined_bands(seams, widths, corners, turns or [()] * len(edges))
    outline = shapely.Polygon(np.concatenate([seam[:-1] for seam in seams]))
    if not outline.is_valid:
        raise ValueError(f"the seam line crosses itself: {shapely.is_valid_reason(outline)}")
    ring = _find_plain_ring(bands)
    if ring is None:
        cloth = shapely.union_all([outline, *(part for band in bands for part in band.cloth())])
        ring = _find_owners(cloth, bands)
    return _make_outline(*ring)


def odd_joints(
    edges: Sequence[Array],
    widths: Sequence[float],
    corners: Sequence[Corner],
    *,
    turns: Sequence[Sequence[int]] = (),
) -> frozenset[int]:
    """Return joints at which two offset lines do not simply run on until they cross.

    There the cut line is square, mirrored, blunt or steps from one width to another.  Both
    ends of an edge whose offset line has loops cut out are among them: a parallel of the cut
    line is not the parallel of such an edge.

    Parameters
    ----------
    edges, widths, corners, turns
        As `offset_chain` takes them.

    Returns
    -------
    frozenset of int
        Numbers of the edges at whose ends such joints are.
    """
    _check_outline(edges, widths, corners)
    count = len(edges)
    if count == 1:
        return frozenset()  # a ring that ends where it begins is mitred there, however sharp
    seams = [distinct(edge) for edge in edges]
    found = {
        k
        for i, (seam, width) in enumerate(zip(seams, widths, strict=True))
        if width > 0.0 and _laps_over(seam, width)
        for k in (i, (i - 1) % count)
    }
    arms = zip(seams, (*seams[1:], seams[0]), widths, (*widths[1:], widths[0]), strict=True)
    if set(corners) == {Corner.MITRE} and all(
        runs_ahead(Arm(a, a, w, ()), Arm(b[::-1], b[::-1], v, (), left=True)) for a, b, w, v in arms
    ):
        return frozenset(found)
    bands = _joined_bands(seams, widths, corners, turns or [()] * count)
    for i, band in enumerate(bands):
        found |= {i} if len(band.tail) or band.walls else set()
        found |= {(i - 1) % count} if len(band.head) else set()
    return frozenset(found)


def _laps_over(seam: Array, width: float) -> bool:
    """Tell whether a line turns so sharply that the parallel of it has no mitre or a loop."""
    line = mitred_line(seam, width)
    if len(line) != len(seam):
        return True
    return bool((np.diff(line, axis=0) * np.diff(seam, axis=0)).sum(axis=1).min() < 0.0)


@dataclass
class _Band:
    """The strip between an edge and its offset line.

    `head` and `tail` are what the corners at its start and end add to `line`;
    `walls` are the lines that close a corner behind this edge.
    """

    seam: Array
    width: float
    line: Array
    head: Array
    tail: Array
    walls: list[Array]

    @property
    def whole(self) -> Array:
        """The offset line with what the corners added."""
        return np.vstack([self.head, self.line, self.tail])

    def cloth(self) -> list[shapely.Geometry]:
        """Return polygons that cover the band."""
        corner = self.seam[-1:]
        patches = [_make_polygon(np.vstack([corner, wall])) for wall in self.walls]
        if self.width > 0.0:
            band = self.as_one()
            if band is not None:
                patches.append(band)
            if band is None or not self.is_clear():
                patches.extend(self._pieces())
        return [patch for patch in patches if not patch.is_empty]

    def as_one(self) -> shapely.Polygon | None:
        """Return the band as one polygon; None where its lines cross."""
        ring = np.vstack([self.whole, self.seam[::-1]])
        band = shapely.Polygon(ring)
        return band if band.is_valid and signed_area(ring) > 0.0 else None

    def is_clear(self) -> bool:
        """Tell whether the line keeps its distance from the whole edge."""
        seam = shapely.LineString(self.seam)
        shapely.prepare(seam)
        line = shapely.LineString(self.line)
        return not shapely.dwithin(seam, line, self.width - SAME_POINT_MM)

    def _pieces(self) -> list[shapely.Geometry]:
        """Return the band chord by chord, for an edge whose allowance overlaps itself."""
        seam = self.seam
        shift = self.width * right_normals(seam)
        low, high = seam[:-1] + shift, seam[1:] + shift
        pieces = [
            *shapely.polygons(np.stack([seam[:-1], low, high, seam[1:]], axis=1)),
            _make_polygon(np.vstack([seam[:1], self.head, self.line[:1], low[:1]])),
            _make_polygon(np.vstack([seam[-1:], high[-1:], self.line[-1:], self.tail])),
        ]
        delta = seam[1:] - seam[:-1]
        left = cross_product(delta[:-1], delta[1:]) > 0.0
        for i in (np.flatnonzero(left) + 1).tolist():
            tip = mitred_line(seam[i - 1 : i + 2], self.width)
            pieces.append(_make_polygon(np.vstack([seam[i], high[i - 1], tip[1:-1], low[i]])))
        return pieces


def _joined_bands(
    seams: Sequence[Array],
    widths: Sequence[float],
    corners: Sequence[Corner],
    turns: Sequence[Sequence[int]],
) -> list[_Band]:
    none = np.empty((0, 2))
    count = len(seams)
    ahead = [
        measure_run_on(seams[i], seams[(i + 1) % count], (widths[i], widths[(i + 1) % count]))
        for i in range(count)
    ]
    bands = [
        _Band(
            seam, width, offset_line(seam, width, run_on=(ahead[i - 1], ahead[i])), none, none, []
        )
        for i, (seam, width) in enumerate(zip(seams, widths, strict=True))
    ]
    for i, corner in enumerate(corners):
        j = (i + 1) % count
        last = len(seams[i]) - 1
        before = Arm(seams[i], bands[i].line, widths[i], tuple(last - t for t in turns[i]))
        after = Arm(seams[j][::-1], bands[j].line[::-1], widths[j], tuple(turns[j]), left=True)
        joint = join_arms(before, after, corner)
        bands[i].line, bands[i].tail = joint.before_line, joint.before_tail
        bands[j].line, bands[j].head = joint.after_line[::-1], joint.after_tail[::-1]
        if len(joint.wall):
            bands[i].walls.append(joint.wall)
    return bands


def _find_plain_ring(bands: Sequence[_Band]) -> tuple[Array, Indices] | None:
    """Join the lines of all bands, with the owner of each chord; None where that is no cut line.

    Where each band ends as the next begins, none overlaps itself, and the row does not cross
    itself, the row winds once around every place of the outline and the bands: they cover it
    without a gap, each place once.
    """
    lines = [band.whole for band in bands]
    if any(band.walls or not band.width for band in bands) or any(
        (line[-1] != after[0]).any()
        for line, after in zip(lines, [*lines[1:], lines[0]], strict=True)
    ):
        return None
    ring = np.concatenate([line[:-1] for line in lines])
    steps = np.diff(ring, axis=0, append=ring[:1])
    if np.hypot(steps[:, 0], steps[:, 1]).min() <= SAME_POINT_MM or signed_area(ring) <= 0.0:
        return None
    if not shapely.Polygon(ring).is_valid:
        return None
    if any(band.as_one() is None or not band.is_clear() for band in bands):
        return None
    return ring, np.repeat(np.arange(len(bands)), [len(line) - 1 for line in lines])


def _find_owners(cloth: shapely.Geometry, bands: Sequence[_Band]) -> tuple[Array, Indices]:
    """Draw the outer boundary, with an owner for every chord."""
    if not isinstance(cloth, shapely.Polygon):
        cloth = max(shapely.get_parts(cloth), key=lambda part: float(part.area))
    ring = shapely.get_coordinates(cloth.exterior)
    ring = ring if signed_area(ring) > 0.0 else ring[::-1]
    points = distinct(ring)[:-1]
    middles = shapely.points((points + np.roll(points, -1, axis=0)) / 2.0)
    # which band each point lies on: the first of those that are equally near
    walls = []
    for band in bands:
        # The ends of a band show where it is wider than its neighbour; where it is not,
        # they may lie on the neighbour's line, whose they are then.
        ends = [np.vstack([band.seam[[0]], band.whole[[0]]]), band.seam[[-1]], band.whole[[-1]]]
        walls.append([ends[0], np.vstack(ends[1:]), *band.walls])
    line, off_line = _find_nearest(middles, [[band.whole] for band in bands])
    wall, off_wall = _find_nearest(middles, walls)
    off_wall = off_wall + SAME_POINT_MM
    on_wall = (off_wall < off_line) | ((off_wall == off_line) & (wall < line))
    return points, np.where(on_wall, wall, line)


def _make_outline(points: Array, owners: Indices) -> OffsetOutline:
    """Make a cut line of a ring, from where the first edge's stretch begins."""
    # Vertices inside a straight stretch of one edge are idle.
    around = np.concatenate([points[-1:], points, points[:1]])
    before, after = points - around[:-2], around[2:] - points
    chord = before + after
    off = np.abs(cross_product(before, after))
    straight = off <= STRAIGHT_MM * np.hypot(chord[:, 0], chord[:, 1])
    straight &= (before * after).sum(axis=1) > 0.0
    kept = ~straight | (owners != np.roll(owners, 1))
    points, owners = points[kept], owners[kept]
    first = np.flatnonzero((owners == 0) & (np.roll(owners, 1) != 0))
    shift = -int(first[0]) if len(first) else 0
    points, owners = np.roll(points, shift, axis=0), np.roll(owners, shift)
    points.setflags(write=False)
    owners.setflags(write=False)
    return OffsetOutline(points, owners)


def _find_nearest(
    points: Sequence[shapely.Point], groups: Sequence[Sequence[Array]]
) -> tuple[Indices, Array]:
    """Find the index of the nearest group of lines, the first of equals, and the distance to it."""
    chords = [
        np.concatenate([np.stack([line[:-1], line[1:]], axis=1) for line in lines])
        for lines in groups
    ]
    owner = np.repeat(np.arange(len(groups)), [len(group) for group in chords])
    tree = shapely.STRtree(shapely.linestrings(np.concatenate(chords)))
    (at, found), gaps = tree.query_nearest(points, return_distance=True)
    order = np.lexsort((owner[found], at))
    first = order[np.flatnonzero(np.diff(at[order], prepend=-1))]
    return owner[found[first]], gaps[first]


def _check_outline(
    edges: Sequence[Array], widths: Sequence[float], corners: Sequence[Corner]
) -> None:
    if not len(edges) == len(widths) == len(corners) > 0:
        raise ValueError(
            f"{len(edges)} edges, {len(widths)} widths and {len(corners)} corners: "
            "one of each is expected for every edge"
        )
    for width in widths:
        if not (np.isfinite(width) and width >= 0.0):
            raise ValueError(f"an allowance of {width} mm; expected 0 or more")
    outline = np.concatenate([edge[:-1] for edge in edges])
    if not signed_area(outline) > 0.0:
        raise ValueError("the edges run clockwise or enclose nothing; expected counter-clockwise")


def _make_polygon(points: Array) -> shapely.Geometry:
    """Make a polygon valid; empty when it has no area."""
    ring = distinct(points)
    if len(ring) < 3 or abs(signed_area(ring)) < SAME_POINT_MM**2:
        return shapely.Polygon()
    return shapely.make_valid(shapely.Polygon(ring), method="structure", keep_collapsed=False)
