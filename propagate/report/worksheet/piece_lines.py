"""The lines of a piece's page in one frame, its grain upwards."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
import shapely

from propagate.geometry.motion import Motion
from propagate.geometry.polyline import between, locate, point_at
from propagate.report.scene.piece import outward_at
from propagate.report.worksheet.outlines import OldAndNew
from propagate.report.worksheet.pocket_steps import ends_of
from propagate.report.worksheet.true_steps import side_corner, taped
from propagate.report.worksheet.value import PieceWork, Widest
from propagate.report.worksheet.words import Source
from propagate.values import dataclass

__all__ = ["Lines", "Measured", "Spread", "lines_of"]

Array = npt.NDArray[np.float64]

_SLIVER_MM = 0.04
_NOTCH_MM = 6.0
_MOST_WINDOWS = 2
_NEAR = 0.03
"""Changes closer than twice this share of the piece are shown in one window."""


@dataclass(frozen=True, eq=False)
class Spread:
    """The widest measure of an edge: from the old point to the new line, or back."""

    first: Array
    second: Array
    mm: float
    added: bool


@dataclass(frozen=True, eq=False)
class Measured:
    """Measures that are written beside the lines: widest places, marks, opening ends."""

    dimensions: tuple[Spread, ...]
    marks: tuple[tuple[str, Array], ...]
    along: tuple[tuple[str, Array], ...]


@dataclass(frozen=True, eq=False)
class Lines:
    """What is drawn of a piece, in millimetres with the grain upwards."""

    old: Mapping[str, Array]
    new: Mapping[str, Array]
    changed: frozenset[str]
    added: shapely.Geometry
    trimmed: shapely.Geometry
    inner: tuple[Array, ...]
    darts: tuple[Array, ...]
    notches: tuple[Array, ...]
    grain: Array
    beyond: Mapping[str, Array]
    measured: Measured

    def bounds(self) -> tuple[Array, Array]:
        """Lower left and upper right corner of everything."""
        points = np.concatenate([*self.old.values(), *self.new.values(), *self.beyond.values()])
        return points.min(axis=0), points.max(axis=0)

    def windows(self) -> list[shapely.Polygon]:
        """What a detail should show: the changed regions, apart or together, at most two."""
        areas = [a for a in (self.added, self.trimmed) if not a.is_empty]
        if not areas:
            return []
        low, high = self.bounds()
        changed = shapely.union_all(areas)
        near = changed.buffer(_NEAR * float(max(high - low)), quad_segs=2)
        parts = [changed.intersection(part) for part in shapely.get_parts(near)]
        parts = [part for part in parts if not part.is_empty]  # a speck can get lost in between
        parts = [changed] if len(parts) > _MOST_WINDOWS else parts
        boxes = [shapely.box(*part.bounds) for part in parts]
        return sorted(boxes, key=lambda part: (-part.bounds[3], part.bounds[0]))

    def widest_in(self, window: shapely.Polygon) -> float:
        """The widest change that a window shows, mm."""
        around = window.buffer(1.0)
        found = (s.mm for s in self.measured.dimensions if around.covers(shapely.Point(s.first)))
        return max(found, default=0.0)

    def outside(self, windows: list[shapely.Polygon]) -> Measured:
        """The measures that no window shows."""
        seen = shapely.union_all(windows) if windows else shapely.Polygon()

        def hidden(*points: Array) -> bool:
            return not all(seen.covers(shapely.Point(point)) for point in points)

        return Measured(
            tuple(s for s in self.measured.dimensions if hidden(s.first, s.second)),
            tuple(mark for mark in self.measured.marks if hidden(mark[1])),
            tuple(item for item in self.measured.along if hidden(item[1][0], item[1][-1])),
        )


def lines_of(source: Source, work: PieceWork) -> Lines:
    """Collect everything that the page draws."""
    pair = source.compared(work.piece)
    now = pair.now
    turn = Motion(1j / complex(*now.grain.direction))

    def up(points: npt.ArrayLike) -> Array:
        return np.asarray(turn.apply(np.asarray(points, dtype=np.float64)))

    beyond, words = _beyond(source, work.piece)
    polygons = [
        shapely.Polygon(np.concatenate([np.asarray(line)[:-1] for line in outline]))
        for outline in (
            [up(pair.old(name)) for name in now.edge_names],
            [up(edge.points) for edge in now.edges],
        )
    ]
    old, new = (shapely.make_valid(polygon) for polygon in polygons)
    darts: list[npt.ArrayLike] = [
        [now.landmark(dart.legs[0]).point, dart.tip, now.landmark(dart.legs[1]).point]
        for dart in now.darts
    ]
    notches = []
    for mark in now.landmarks:
        if mark.kind == "notch":
            point = np.array(mark.point)
            notches.append(up([point, point + outward_at(now, mark) * _NOTCH_MM]))
    return Lines(
        old={name: up(pair.old(name)) for name in now.edge_names},
        new={edge.name: up(edge.points) for edge in now.edges},
        changed=frozenset(source.changed_edges(work.piece)),
        added=_clean(new.difference(old)),
        trimmed=_clean(old.difference(new)),
        inner=tuple(up(line) for line in [*darts, *(line.points for line in now.lines)]),
        darts=tuple(up(dart) for dart in darts),
        notches=tuple(notches),
        grain=up([now.grain.start, now.grain.end]),
        beyond={name: up(points) for name, points in beyond.items()},
        measured=Measured(
            dimensions=tuple(
                Spread(up(s.first), up(s.second), s.mm, s.added) for s in _spreads(pair, work)
            ),
            marks=tuple(
                (f"{m.name} {source.said(m.along_mm)}", up(now.landmark(m.name).point))
                for m in work.marks
            ),
            along=tuple((text, up(points)) for text, points in words),
        ),
    )


def _clean(area: shapely.Geometry) -> shapely.Geometry:
    """Without the slivers that rounding leaves."""
    opened = area.buffer(-_SLIVER_MM / 2).buffer(_SLIVER_MM / 2, join_style="mitre")
    return opened.intersection(area)


def _spreads(pair: OldAndNew, work: PieceWork) -> list[Spread]:
    """The widest measures, each place once."""
    found: list[Spread] = []
    for edge in work.edges:
        for widest, added in ((edge.trimmed, False), (edge.added, True)):
            if widest is None:
                continue
            spread = _spread(pair, edge.edge, widest, added=added)
            if all(s.added != added or np.hypot(*(s.first - spread.first)) > 2.0 for s in found):
                found.append(spread)
    return found


def _spread(pair: OldAndNew, edge: str, widest: Widest, *, added: bool) -> Spread:
    """From the farthest point to what it is measured from."""
    if added:
        points = pair.now.edge(edge).points
        gaps = shapely.distance(shapely.points(points), pair.old_area)
        point, area = points[int(gaps.argmax())], pair.old_area
    else:
        point, area = point_at(pair.old(edge), widest.along_mm), pair.new_area
    tie = shapely.shortest_line(shapely.Point(point), area)
    foot = np.asarray(tie.coords)[-1]
    return Spread(np.asarray(point), foot, widest.mm, added)


def _beyond(source: Source, piece: str) -> tuple[dict[str, Array], list[tuple[str, Array]]]:
    """The taped outline beyond an opening, with the distances of the opening's ends."""
    lines: dict[str, Array] = {}
    words: list[tuple[str, Array]] = []
    for opening in source.result.pattern.relations.openings.values():
        if opening.piece != piece or opening.silhouette == piece:
            continue
        whole = taped(source, opening.silhouette)
        corner = side_corner(whole, opening)
        for name, distance in zip(
            (opening.across, opening.side), ends_of(source, opening), strict=True
        ):
            points = whole.edge(name).points
            if locate(points, corner)[0] > whole.edge(name).length / 2:
                points = points[::-1]
            part = between(points, 0.0, distance)
            lines[f"{opening.name}/{name}"] = part
            words.append((f"{source.said(distance)} along {name}", part))
    return lines, words
