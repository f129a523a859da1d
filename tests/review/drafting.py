"""A few tools to draft pieces in code."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.pattern.grain import Grain
from propagate.pattern.model import (
    Dart,
    Edge,
    Landmark,
    LandmarkKind,
    Piece,
    SizedPiece,
    frozen_points,
)
from propagate.pattern.relations import Seam, parse_run
from tests.engine.altered import drawn_at, turn_and_shift

Point = tuple[float, float]
Points = npt.NDArray[np.float64]


def line(*points: Point) -> Points:
    """A line through the points."""
    return np.array(points, float)


def curve(start: Point, first: Point, second: Point, end: Point) -> Points:
    """A cubic curve with two handles, in chords of about 3 mm."""
    p = np.array([start, first, second, end], float)
    count = max(8, int(np.hypot(*np.diff(p, axis=0).T).sum() / 3.0))
    t = np.linspace(0.0, 1.0, count + 1)[:, None]
    points = (
        (1 - t) ** 3 * p[0] + 3 * t * (1 - t) ** 2 * p[1] + 3 * t**2 * (1 - t) * p[2] + t**3 * p[3]
    )
    points[0], points[-1] = p[0], p[3]
    return points


def arc(radius: float, start: float, end: float) -> Points:
    """An arc round the origin between two angles in degrees."""
    count = max(8, int(abs(np.radians(end - start)) * radius / 2.0))
    angles = np.radians(np.linspace(start, end, count + 1))
    return radius * np.column_stack([np.cos(angles), np.sin(angles)])


def joined(*parts: Points) -> Points:
    """Lines one after the other as one line."""
    return np.concatenate([parts[0], *(part[1:] for part in parts[1:])])


def flipped(points: Points) -> Points:
    """The mirror image across the y axis, run the other way."""
    return points[::-1] * (-1.0, 1.0)


def length(points: Points) -> float:
    """Length of a line."""
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def drafted(*edges: tuple[str, Points], grain: tuple[Point, Point], **levels: Point) -> SizedPiece:
    """A piece from its edges, counter-clockwise, each from the end of the one before."""
    starts = [points[0] for _, points in edges]
    found = []
    for (name, points), following in zip(edges, [*starts[1:], starts[0]], strict=True):
        gap = float(np.hypot(*(points[-1] - following)))
        assert gap < 1e-6, (name, gap)
        closed = np.array(points, float)
        closed[-1] = following
        turns = tuple(i + 1 for i in range(len(closed) - 2) if _turns(closed[i : i + 3]))
        found.append(Edge(name, frozen_points(closed), turns))
    return SizedPiece(edges=tuple(found), grain=Grain(*grain), levels=levels)


def _turns(three: Points) -> bool:
    before, after = np.diff(three, axis=0)
    cross = before[0] * after[1] - before[1] * after[0]
    return bool(abs(np.degrees(np.arctan2(cross, before @ after))) > 15.0)


def marked(sized: SizedPiece, kind: LandmarkKind = "notch", **at: tuple[str, float]) -> SizedPiece:
    """The piece with landmarks: name = (edge, distance from its start; below 0 from its end)."""
    marks = []
    for name, (edge, distance) in at.items():
        line = sized.edge(edge)
        along = distance if distance >= 0 else line.length + distance
        x, y = (float(np.interp(along, line.arc, line.points[:, axis])) for axis in (0, 1))
        marks.append(Landmark(name, edge, (x, y), kind))
    return replace(sized, landmarks=(*sized.landmarks, *marks))


def darted(
    sized: SizedPiece, name: str, edge: str, middle: float, width: float, depth: float
) -> SizedPiece:
    """The piece with a dart square to a straight stretch of an edge."""
    legs = {f"{name}_first": (edge, middle - width / 2), f"{name}_last": (edge, middle + width / 2)}
    found = marked(sized, "dart leg", **legs)
    first, last = (np.array(found.landmark(leg).point) for leg in legs)
    way = (last - first) / np.hypot(*(last - first))
    tip = (first + last) / 2 + depth * np.array([-way[1], way[0]])
    dart = Dart(name, edge, tuple(legs), (float(tip[0]), float(tip[1])))  # type: ignore[arg-type]
    return replace(found, darts=(*found.darts, dart))


def strip(long: float, wide: float, names: Sequence[str], *marks: tuple[str, float]) -> SizedPiece:
    """A straight strip along x: lower, right, upper and left edge by `names`."""
    corners = [(0.0, 0.0), (long, 0.0), (long, wide), (0.0, wide), (0.0, 0.0)]
    edges = [(n, line(a, b)) for n, a, b in zip(names, corners, corners[1:], strict=False)]
    sized = drafted(*edges, grain=((long * 0.1, wide / 2), (long * 0.9, wide / 2)))
    return marked(sized, **{name: (names[0], at) for name, at in marks})


def nest(
    name: str,
    sizes: Sequence[str],
    draw: Callable[[str], SizedPiece],
    place: tuple[float, float, float] = (0.0, 0.0, 0.0),
    each: float = 0.0,
) -> Piece:
    """A piece in all sizes, drawn at an angle (degrees) and place, turned by `each` a size."""
    angle, dx, dy = place
    found: Mapping[str, SizedPiece] = {
        size: drawn_at(
            draw(size), turn_and_shift(float(np.radians(angle + each * i)), dx, dy + 7.0 * i)
        )
        for i, size in enumerate(sizes)
    }
    return Piece(name, found)


# ------ relations


def seam(name: str, lead: str | list[str], follow: str | list[str], **more: object) -> Seam:
    return Seam(name, parse_run(lead), parse_run(follow), **more)  # type: ignore[arg-type]


def mirror_seam(name: str, lead: str) -> Seam:
    return Seam(name, parse_run(lead), (), mirror=True)


def by_name(*relations):  # type: ignore[no-untyped-def]
    return {one.name: one for one in relations}
