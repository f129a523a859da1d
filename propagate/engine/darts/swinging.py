"""Swing a dart: cut from an edge to the tip, close the dart as far as the cut opens.

The piece falls into two parts that hang together at the tip alone; one of them turns about it.
A rotation keeps every length and area: both edges are as long as before once the darts are
sewn, and the angles of the two darts add up to that of the one.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Literal

import numpy as np
import shapely

from propagate.engine.darts.cap import Lie, cap_between
from propagate.engine.darts.changes import mouth_of
from propagate.engine.darts.placing import with_dart, without_dart
from propagate.engine.marks_on_lines import put_mark_at
from propagate.engine.reshape import rounded, share_corners
from propagate.engine.tape import edge_from_parts
from propagate.geometry.arrays import Array
from propagate.geometry.motion import IDENTITY, Motion
from propagate.geometry.polyline import as_pair, between, point_at
from propagate.pattern.model import (
    Dart,
    Edge,
    InternalLine,
    Label,
    Mark,
    SizedPiece,
)
from propagate.tolerances import SAME_POINT_MM
from propagate.values import dataclass

__all__ = ["Cut", "Swung", "cut_for", "swing", "with_cap"]

Part = Literal["after", "before"]
PARTS: tuple[Part, Part] = ("after", "before")

Stretches = list[tuple[Part, float, float]]
"""The parts that an edge falls into, in its direction: part, and from where to where."""

_WHOLE = 1e-9


@dataclass(frozen=True)
class Cut:
    """Where a piece is cut for a swing, and which of the two parts turns.

    Attributes
    ----------
    low, high : float
        Distances of its legs along its edge, mm.
    edge : str
        Edge from which the cut goes to the tip.
    place : float
        Distance along that edge, mm.
    turns : "after" or "before"
        The part behind the dart, counter-clockwise, up to the cut; or the other one.
    """

    dart: Dart
    low: float
    high: float
    edge: str
    place: float
    turns: Part


@dataclass(frozen=True)
class Swung:
    """A piece after a swing.

    Attributes
    ----------
    degrees : float
        By how much the part was turned; counter-clockwise is positive.
    legs_mm : (float, float)
        Lengths of the legs of the dart that was closed.
    crossed : tuple of str
        Internal lines that the cut goes through.
    """

    piece: SizedPiece
    degrees: float
    legs_mm: tuple[float, float]
    crossed: tuple[str, ...] = ()


def cut_for(piece: SizedPiece, dart: Dart, edge: str, place: float, stays: str | None) -> Cut:
    """Decide which part of a piece turns: not that with the edge that stays.

    Parameters
    ----------
    edge, place : str, float
        Where the cut begins.
    stays : str or None
        Edge that is to stay; without one the larger part does.
    """
    low, high = mouth_of(piece, dart)
    cut = Cut(dart, low, high, edge, place, "after")
    after = shapely.Polygon(_outline_part(piece, cut, "after"))
    if edge == dart.edge:  # a strip along the edge
        return replace(cut, turns="after" if place > high else "before")
    if stays is not None:
        line = piece.edge(stays)
        middle = shapely.Point(point_at(line.points, line.length / 2))
        before = shapely.Polygon(_outline_part(piece, cut, "before"))
        inside = after.distance(middle) <= before.distance(middle)
    else:
        inside = after.area > shapely.Polygon(piece.outline).area / 2
    return replace(cut, turns="before" if inside else "after")


def swing(
    piece: SizedPiece,
    cut: Cut,
    share: float,
    *,
    name: str,
    legs: tuple[str, str],
    named: Collection[str],
    lie: Lie | None,
) -> Swung:
    """Turn a part of a piece about the tip of a dart.

    Parameters
    ----------
    share : float
        Of the dart's angle, above 0 and at most 1.
    name, legs : str, (str, str)
        Of the dart that opens at the cut, in the order along its edge.
    named : collection of str
        Landmarks that relations name.
    lie : Lie or None
        How the piece hangs, which tells how darts are folded; None cuts no caps.
    """
    rim = piece.edge(cut.dart.edge).points
    rays = [complex(*(point_at(rim, at) - cut.dart.tip)) for at in (cut.low, cut.high)]
    angle = float(np.angle(rays[0] / rays[1])) * share * (1.0 if cut.turns == "after" else -1.0)
    motion = Motion.about(cut.dart.tip, complex(np.exp(1j * angle)))
    by: dict[Part, Motion] = {"after": IDENTITY, "before": IDENTITY}
    by[cut.turns] = motion
    whole = share >= 1.0 - _WHOLE
    stretches: dict[str, Stretches] = {}
    for part, one, low, high in _walk_ring(piece, cut):
        stretches.setdefault(one, []).append((part, low, high))
    for rows in stretches.values():
        rows.sort(key=lambda row: row[1])
    edges = [_turn_edge(edge, stretches[edge.name], by, whole) for edge in piece.edges]
    area = shapely.Polygon(_outline_part(piece, cut, cut.turns))
    shapely.prepare(area)
    lines, crossed = _turn_lines(piece.lines, area, motion)
    marks = []
    for mark in piece.landmarks:
        at = piece.distance(mark.edge, mark.name)
        own = (by[p] for p, a, b in stretches[mark.edge] if a - _WHOLE <= at <= b + _WHOLE)
        turned = next(own, IDENTITY)
        still = turned is IDENTITY
        marks.append(mark if still else put_mark_at(mark, rounded(turned.apply(mark.point))))
    new = replace(
        piece,
        edges=share_corners(edges, piece.edges),
        landmarks=tuple(marks),
        darts=tuple(
            d if d.name == cut.dart.name else replace(d, tip=_put_point(d.tip, area, motion))
            for d in piece.darts
        ),
        lines=lines,
        drills=tuple(Mark(m.name, _put_point(m.point, area, motion)) for m in piece.drills),
        label=None
        if piece.label is None
        else Label(_put_point(piece.label.point, area, motion), piece.label.angle),
    )
    if whole:
        new = without_dart(new, piece, cut.dart.name, named)
    edge, point = new.edge(cut.edge), point_at(piece.edge(cut.edge).points, cut.place)
    first, second = (
        float(edge.arc[int(np.hypot(*(edge.points - rounded(by[part].apply(point))).T).argmin())])
        for part in PARTS
    )
    new = with_dart(new, Dart(name, cut.edge, legs, cut.dart.tip), (first, second))
    fresh = new.darts[-1].name
    legs_mm = abs(rays[0]), abs(rays[1])
    if lie is None:
        return Swung(new, float(np.degrees(angle)), legs_mm, crossed)
    new = _turn_drills(new, piece, cut, fresh) if whole else with_cap(new, cut.dart.name, lie)
    new = with_cap(new, fresh, lie)
    return Swung(new, float(np.degrees(angle)), legs_mm, crossed)


def _turn_drills(new: SizedPiece, old: SizedPiece, cut: Cut, name: str) -> SizedPiece:
    """Turn drill marks in the mouth of the old dart into that of the new one."""
    tip = np.asarray(cut.dart.tip)
    legs = [
        np.array([piece.landmark(leg).point for leg in one.legs]) - tip
        for piece, one in ((old, cut.dart), (new, new.dart(name)))
    ]
    wedge = shapely.Polygon([*(legs[0] + tip), tip])
    axes = [rays.mean(axis=0) @ np.array([1.0, 1j]) for rays in legs]
    motion = Motion.about(tip, complex(axes[1] / axes[0]))
    return replace(
        new,
        drills=tuple(
            Mark(mark.name, _put_point(was.point, wedge, motion))
            if wedge.contains(shapely.Point(was.point))
            else mark
            for was, mark in zip(old.drills, new.drills, strict=True)
        ),
    )


def with_cap(piece: SizedPiece, name: str, lie: Lie) -> SizedPiece:
    """Cut the cap of a dart as it is folded."""
    dart = piece.dart(name)
    edge = piece.edge(dart.edge)
    low, high = mouth_of(piece, dart)
    before, after = between(edge.points, 0.0, low), between(edge.points, high, edge.length)
    tip = np.asarray(dart.tip)
    # The edge without the darts beside it.
    others = [mouth_of(piece, d) for d in piece.darts if d.edge == dart.edge and d is not dart]
    near = max((last for _, last in others if last <= low), default=0.0)
    far = min((first for first, _ in others if first >= high), default=edge.length)
    towards = lie.folded(piece, dart, (before[-1], after[0]))
    cap = rounded(
        cap_between(between(edge.points, near, low), between(edge.points, high, far), tip, towards)
    )
    corners = [edge.turn_points, before[-1:], after[:1], cap[len(cap) // 2 :][:1]]
    fresh = edge_from_parts(edge.name, [np.vstack([before, cap, after])], np.vstack(corners))
    edges = tuple(fresh if one is edge else one for one in piece.edges)
    return replace(piece, edges=edges)


def _walk_ring(piece: SizedPiece, cut: Cut) -> list[tuple[Part, str, float, float]]:
    """Walk the outline from the second leg to the first: part, edge, from where to where."""
    names = piece.edge_names
    at = names.index(cut.dart.edge)
    rows = [
        (cut.dart.edge, cut.high, piece.edge(cut.dart.edge).length),
        *((n, 0.0, piece.edge(n).length) for n in (*names[at + 1 :], *names[:at])),
        (cut.dart.edge, 0.0, cut.low),
    ]
    found: list[tuple[Part, str, float, float]] = []
    part: Part = "after"
    for name, low, high in rows:
        if part == "after" and name == cut.edge and low < cut.place < high:
            found.append(("after", name, low, cut.place))
            part, low = "before", cut.place
        if high - low > SAME_POINT_MM:
            found.append((part, name, low, high))
    return found


def _outline_part(piece: SizedPiece, cut: Cut, part: Part) -> Array:
    """Return the outline of one part, closed over the tip."""
    lines = [
        between(piece.edge(name).points, low, high)
        for own, name, low, high in _walk_ring(piece, cut)
        if own == part
    ]
    return np.vstack([*lines, np.asarray(cut.dart.tip)])


def _turn_edge(edge: Edge, stretches: Stretches, by: dict[Part, Motion], whole: bool) -> Edge:
    """Turn the stretches of an edge, and join them again where a dart was closed."""
    if len(stretches) == 1 and by[stretches[0][0]] is IDENTITY:
        return edge
    parts, corners = [], [np.empty((0, 2))]
    turns = set(edge.turns)
    for part, low, high in stretches:
        motion = by[part]
        own = between(edge.points, low, high)
        parts.append(own if motion is IDENTITY else rounded(motion.apply(own)))
        inner = [k for k in turns if low - _WHOLE <= edge.arc[k] <= high + _WHOLE]
        points = edge.points[inner].reshape(-1, 2)
        corners.append(points if motion is IDENTITY else rounded(motion.apply(points)))
    joined = [parts[0]]
    for k, ((_, _, end), (_, begin, _)) in enumerate(pairwise(stretches), start=1):
        closed = end != begin and whole  # over the mouth, where the legs came together
        corners.append(joined[-1][-1:])
        corners.append(parts[k][:1])
        joined.append(parts[k][1:] if closed else parts[k])
    return edge_from_parts(edge.name, [np.vstack(joined)], np.vstack(corners))


def _put_point(
    point: tuple[float, float], area: shapely.Polygon, motion: Motion
) -> tuple[float, float]:
    """Turn a point inside the piece where it lies on the part that turns."""
    if not shapely.contains_xy(area, *point):
        return point
    return as_pair(rounded(motion.apply(point)))


def _turn_lines(
    lines: Sequence[InternalLine], area: shapely.Polygon, motion: Motion
) -> tuple[tuple[InternalLine, ...], tuple[str, ...]]:
    """Turn internal lines on the part that turns; name those that lie on both."""
    found, crossed = [], []
    for line in lines:
        inside = shapely.contains_xy(area, line.points[:, 0], line.points[:, 1])
        if inside.all():
            found.append(InternalLine(line.name, rounded(motion.apply(line.points))))
            continue
        if inside.any() or area.intersects(shapely.LineString(line.points)):
            crossed.append(line.name)
        found.append(line)
    return tuple(found), tuple(crossed)
