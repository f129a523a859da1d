"""Find out what a revised piece changed: lay it on the old one and compare edge by edge.

The revised drawing may be turned, shifted, mirrored, start at another corner, run the
other way and name its edges differently.  It is laid by the edges that agree.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from propagate.engine.record import Status
from propagate.engine.reshape import rounded
from propagate.errors import EditError
from propagate.geometry.motion import Motion, fit
from propagate.geometry.polyline import arc_lengths, locate, locate_all, point_at
from propagate.pattern.model import Dart, Edge, Grain, InternalLine, Landmark, Mark, SizedPiece

__all__ = ["Registered", "register"]

Array = npt.NDArray[np.float64]

_SAMPLES = 24
_AGREE_MM = 1.0
"""Edges whose lengths differ by less than this may be unchanged ones."""


@dataclass(frozen=True)
class Registered:
    """A revised piece in the frame and with the names of the old one.

    Attributes
    ----------
    piece : SizedPiece
    statuses : tuple of (edge name, status)
    motion : Motion
        Takes the revised drawing's frame to the old one.
    residual : float
        Largest distance left on the edges that agree, mm.
    """

    piece: SizedPiece
    statuses: tuple[tuple[str, Status], ...]
    motion: Motion
    residual: float


@dataclass(frozen=True)
class _Match:
    """One way to pair the edges: new edge i + shift goes on old edge i."""

    edges: tuple[Edge, ...]
    motion: Motion
    agreeing: tuple[int, ...]
    residual: float
    total: float


def register(
    old: SizedPiece, new: SizedPiece, *, tolerance: float = 0.05, where: str = "piece"
) -> Registered:
    """Lay a revised piece on the old one.

    Parameters
    ----------
    old, new : SizedPiece
    tolerance : float
        mm within which an edge counts as the same (the curve tolerance of the file).
    where : str
        Set, piece and size, for messages.

    Raises
    ------
    EditError
        When corners came or went (they are named), or when no edge agrees.
    """
    if len(new.edges) != len(old.edges):
        raise EditError(_corners_differ(old, new, where))
    matches = sorted(_matches(old, new), key=lambda m: (-len(m.agreeing), m.total))
    if not matches:
        raise EditError(
            f"{where}: no edge of the revised piece agrees with the old one, so it cannot be laid "
            "on it; expected at least one edge that was not changed"
        )
    return _named(old, new, matches[0], tolerance)


def _corners_differ(old: SizedPiece, new: SizedPiece, where: str) -> str:
    """Say which corners have no partner, by the lengths of the edges between them."""
    more, fewer, verb = (
        (new, old, "came") if len(new.edges) > len(old.edges) else (old, new, "went")
    )
    lengths = np.array([edge.length for edge in fewer.edges])
    lost = [
        f"'{edge.name}' ({edge.length:.1f} mm)"
        for edge in more.edges
        if np.abs(lengths - edge.length).min() > _AGREE_MM
    ]
    return (
        f"{where}: the revised piece has {len(new.edges)} corners, expected {len(old.edges)}: "
        f"corners {verb} at the ends of {', '.join(lost) or 'an edge'}; keep the corners, or "
        "give the new piece a set of relations of its own"
    )


def _mirrored(piece: SizedPiece) -> tuple[Edge, ...]:
    """Edges of the piece turned face down, counter-clockwise again."""
    flip = np.array([-1.0, 1.0])
    edges = []
    for edge in reversed(piece.edges):
        last = len(edge.points) - 1
        turns = tuple(sorted(last - turn for turn in edge.turns))
        edges.append(Edge(edge.name, edge.points[::-1] * flip, turns))
    return tuple(edges)


def _counter_clockwise(edges: Sequence[Edge]) -> bool:
    points = np.concatenate([edge.points[:-1] for edge in edges])
    following = np.roll(points, -1, axis=0)
    area = points[:, 0] * following[:, 1] - points[:, 1] * following[:, 0]
    return bool(area.sum() > 0)


def _matches(old: SizedPiece, new: SizedPiece) -> Iterator[_Match]:
    """Every pairing in outline order in which some edges agree, straight or mirrored."""
    count = len(old.edges)
    straight = new.edges
    if not _counter_clockwise(straight):
        straight = tuple(
            Edge(e.name, e.points[::-1], tuple(sorted(len(e.points) - 1 - t for t in e.turns)))
            for e in reversed(straight)
        )
    for face_down, edges in ((False, straight), (True, _mirrored(replace(new, edges=straight)))):
        lengths = np.array([edge.length for edge in edges])
        wanted = np.array([edge.length for edge in old.edges])
        for shift in range(count):
            turned = (*edges[shift:], *edges[:shift])
            close = np.flatnonzero(np.abs(np.roll(lengths, -shift) - wanted) < _AGREE_MM)
            found = _laid(old, turned, close.tolist(), face_down)
            if found is not None:
                yield found


def _sampled(edge: Edge) -> Array:
    arc = arc_lengths(edge.points)
    places = np.linspace(0.0, arc[-1], _SAMPLES)
    return np.column_stack([np.interp(places, arc, edge.points[:, k]) for k in (0, 1)])


def _laid(
    old: SizedPiece, edges: tuple[Edge, ...], close: list[int], face_down: bool
) -> _Match | None:
    """Lay by the edges that agree; those that do not lie on the old ones drop out."""
    motion, residual = Motion(), np.inf
    while close:
        source = np.vstack([_sampled(edges[i]) for i in close])
        target = np.vstack([_sampled(old.edges[i]) for i in close])
        motion, residual = fit(source, target)
        gaps = [
            float(np.hypot(*(motion.apply(_sampled(edges[i])) - _sampled(old.edges[i])).T).max())
            for i in close
        ]
        if max(gaps) <= _AGREE_MM / 4:
            break
        close = [i for i, gap in zip(close, gaps, strict=True) if gap < max(gaps)]
    if not close or sum(old.edges[i].length for i in close) < 10.0:
        return None
    total = sum(
        float(np.hypot(*(motion.apply(_sampled(e)) - _sampled(o)).T).mean())
        for e, o in zip(edges, old.edges, strict=True)
    )
    # A mirrored drawing was flipped in x first.
    whole = motion if not face_down else motion.after(Motion(-1 + 0j, 0j, True))
    return _Match(edges, whole, tuple(close), residual, total)


def _named(old: SizedPiece, new: SizedPiece, match: _Match, tolerance: float) -> Registered:
    laid_frame = match.motion
    if laid_frame.face_down:
        to_old = laid_frame.after(Motion(-1 + 0j, 0j, True).inverse())
    else:
        to_old = laid_frame
    edges: list[Edge] = []
    statuses: list[tuple[str, Status]] = []
    for was, now in zip(old.edges, match.edges, strict=True):
        points = to_old.apply(now.points)
        status = _status(was, points, tolerance)
        statuses.append((was.name, status))
        edges.append(was if status == "same" else Edge(was.name, rounded(points), now.turns))
    _share_corners(edges, old.edges)
    piece = replace(old, edges=tuple(edges))
    if all(status == "same" for _, status in statuses):
        return Registered(old, tuple(statuses), laid_frame, match.residual)
    piece = _with_inner(old, new, piece, laid_frame, tolerance)
    return Registered(piece, tuple(statuses), laid_frame, match.residual)


def _status(old: Edge, points: Array, tolerance: float) -> Status:
    _, there = locate_all(old.points, points)
    _, back = locate_all(points, old.points)
    ends = np.hypot(*(points[[0, -1]] - old.points[[0, -1]]).T)
    if max(there.max(), back.max(), ends.max()) <= tolerance:
        return "same"
    if abs(float(arc_lengths(points)[-1]) - old.length) <= tolerance:
        samples = _sampled(Edge(old.name, points)), _sampled(old)
        if fit(*samples)[1] <= tolerance:
            return "moved"
    return "reshaped"


def _share_corners(edges: list[Edge], old: tuple[Edge, ...]) -> None:
    """Edges that stayed keep their corners; the changed ones take them over."""
    for i, edge in enumerate(edges):
        if edge is old[i]:
            continue
        before, after = edges[i - 1], edges[(i + 1) % len(edges)]
        points = edge.points.copy()
        if before is old[i - 1] or i > 0:
            points[0] = before.points[-1]
        if after is old[(i + 1) % len(edges)] or i == len(edges) - 1:
            points[-1] = after.points[0]
        edges[i] = Edge(edge.name, points, edge.turns)


def _with_inner(
    old: SizedPiece, new: SizedPiece, piece: SizedPiece, motion: Motion, tolerance: float
) -> SizedPiece:
    """Carry landmarks, darts, lines, drill marks: the revised ones where they are named."""
    theirs = {mark.name: mark for mark in new.landmarks}
    landmarks = tuple(_landmark(old, piece, mark, theirs, motion) for mark in old.landmarks)

    def moved(point: tuple[float, float], own: tuple[float, float]) -> tuple[float, float]:
        x, y = rounded(motion.apply(own))
        stays = np.hypot(x - point[0], y - point[1]) <= tolerance
        return point if stays else (float(x), float(y))

    tips = {dart.name: dart.tip for dart in new.darts}
    drills = {mark.name: mark.point for mark in new.drills}
    lines = {line.name: line.points for line in new.lines}
    return replace(
        piece,
        landmarks=landmarks,
        darts=tuple(
            Dart(d.name, d.edge, d.legs, moved(d.tip, tips[d.name])) if d.name in tips else d
            for d in old.darts
        ),
        drills=tuple(
            Mark(m.name, moved(m.point, drills[m.name])) if m.name in drills else m
            for m in old.drills
        ),
        lines=tuple(_line(line, lines.get(line.name), motion, tolerance) for line in old.lines),
        grain=Grain(moved(old.grain.start, new.grain.start), moved(old.grain.end, new.grain.end))
        if _parallel(old.grain, new.grain, motion)
        else old.grain,
    )


def _parallel(old: Grain, new: Grain, motion: Motion) -> bool:
    return bool(np.abs(motion.rotate(new.direction) - old.direction).max() < 0.02)


def _line(line: InternalLine, own: Array | None, motion: Motion, tolerance: float) -> InternalLine:
    if own is None or own.shape != line.points.shape:
        return line
    points = rounded(motion.apply(own))
    return line if np.abs(points - line.points).max() <= tolerance else replace(line, points=points)


def _landmark(
    old: SizedPiece,
    piece: SizedPiece,
    mark: Landmark,
    theirs: dict[str, Landmark],
    motion: Motion,
) -> Landmark:
    """The revised landmark of that name, else the old one at its share of the edge."""
    edge = piece.edge(mark.edge)
    if edge is old.edge(mark.edge) and mark.name not in theirs:
        return mark
    if mark.name in theirs:
        point = motion.apply(theirs[mark.name].point)
        along, gap = locate(edge.points, point)
        if np.hypot(*np.subtract(point, mark.point)) <= 0.05 and edge is old.edge(mark.edge):
            return mark
        if gap <= 1.0:
            x, y = rounded(point_at(edge.points, along))
            return replace(mark, point=(float(x), float(y)))
    share = old.distance(mark.edge, mark.name) / old.edge(mark.edge).length
    x, y = rounded(point_at(edge.points, share * edge.length))
    return replace(mark, point=(float(x), float(y)))
