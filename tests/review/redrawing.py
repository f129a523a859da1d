"""Small changes of a drawing, to make a mistake in it on purpose."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

import numpy as np

from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Piece, SizedPiece, frozen_points
from propagate.pattern.patternset import PatternSet
from tests.engine.altered import drawn_at
from tests.review.changes import Change

Redraw = Callable[[SizedPiece], SizedPiece]


def redraw(piece: str, redrawn: Redraw, sizes: str | Iterable[str] | None = None) -> Change:
    """Draw a piece differently, in one size, several, or all."""

    def change(pattern: PatternSet) -> PatternSet:
        wanted = pattern.sizes if sizes is None else (sizes,) if isinstance(sizes, str) else sizes
        nest = dict(pattern.pieces[piece].nest)
        for size in wanted:
            nest[size] = redrawn(nest[size])
        return replace(pattern, pieces={**pattern.pieces, piece: Piece(piece, nest)})

    return change


def as_in(piece: str, **taken: str) -> Change:
    """Give a piece in some sizes the drawing of other sizes; write sizes as ``_46="44"``."""

    def change(pattern: PatternSet) -> PatternSet:
        old = pattern.pieces[piece].nest
        new = {size.removeprefix("_"): old[other] for size, other in taken.items()}
        assert set(new) <= set(old)
        return replace(pattern, pieces={**pattern.pieces, piece: Piece(piece, {**old, **new})})

    return change


def scaled(factor: float) -> Redraw:
    """The piece drawn in another unit."""
    return lambda sized: drawn_at(sized, lambda points: np.asarray(points, float) * factor)


def mirrored(sized: SizedPiece) -> SizedPiece:
    """The piece the other side up."""
    return drawn_at(sized, lambda p: np.asarray(p, float) * (-1.0, 1.0), mirrored=True)


def bent(shift: Callable[[np.ndarray], np.ndarray]) -> Redraw:
    """The piece with every point moved by what `shift` gives for (n, 2) points."""

    def moved(points: np.ndarray) -> np.ndarray:
        rows = np.asarray(points, float).reshape(-1, 2)
        return (rows + shift(rows)).reshape(np.shape(points))

    return lambda sized: drawn_at(sized, moved)


def towards(
    sized_corner: tuple[str, str], move: tuple[float, float], reach: float = 60.0
) -> Redraw:
    """The piece with a corner (edge, "start" or "end") moved, fading out over `reach` mm."""

    def redrawn(sized: SizedPiece) -> SizedPiece:
        edge, end = sized_corner
        corner = sized.edge(edge).points[0 if end == "start" else -1]

        def shift(points: np.ndarray) -> np.ndarray:
            far = np.hypot(*(points - corner).T)
            weight = np.clip(1.0 - far / reach, 0.0, 1.0)
            return weight[:, None] * np.asarray(move)

        return bent(shift)(_finer(sized))

    return redrawn


def stretched(edge: str, by: float, start: float = 0.5) -> Redraw:
    """The piece longer along the chord of an edge, from a share of it on."""

    def redrawn(sized: SizedPiece) -> SizedPiece:
        first, last = sized.edge(edge).points[[0, -1]]
        chord = float(np.hypot(*(last - first)))
        way = (last - first) / chord

        def shift(points: np.ndarray) -> np.ndarray:
            along = (points - first) @ way
            share = np.clip((along / chord - start) / (1.0 - start), 0.0, 1.0)
            return share[:, None] * by * way

        return bent(shift)(_finer(sized))

    return redrawn


def _finer(sized: SizedPiece) -> SizedPiece:
    """The piece with points every few millimetres, so that landmarks stay on their edges."""

    def dense(edge: Edge) -> Edge:
        steps = np.arange(0.0, edge.length, 2.0)
        arc = np.unique(np.concatenate([steps, edge.arc, _marked(sized, edge)]))
        arc = arc[np.concatenate([np.diff(arc) > 1e-6, [True]])]
        x, y = (np.interp(arc, edge.arc, edge.points[:, axis]) for axis in (0, 1))
        points = np.column_stack([x, y])
        points[0], points[-1] = edge.points[0], edge.points[-1]
        turns = [int(np.argmin(np.abs(arc - edge.arc[turn]))) for turn in edge.turns]
        return Edge(edge.name, frozen_points(points), tuple(turns))

    return replace(sized, edges=tuple(dense(edge) for edge in sized.edges))


def _marked(sized: SizedPiece, edge: Edge) -> list[float]:
    return [sized.distance(edge.name, mark.name) for mark in sized.landmarks_on(edge.name)]


def off_grain(degrees: float) -> Redraw:
    """The grain line turned about its middle."""

    def redrawn(sized: SizedPiece) -> SizedPiece:
        start, end = np.array(sized.grain.start), np.array(sized.grain.end)
        middle, half = (start + end) / 2, (end - start) / 2
        c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
        turned = half @ np.array([[c, s], [-s, c]])
        return replace(sized, grain=Grain(_pair(middle - turned), _pair(middle + turned)))

    return redrawn


def slid(landmark: str, by: float) -> Redraw:
    """A landmark moved along its edge."""

    def redrawn(sized: SizedPiece) -> SizedPiece:
        mark = sized.landmark(landmark)
        edge = sized.edge(mark.edge)
        at = sized.distance(mark.edge, landmark) + by
        assert 0.0 < at < edge.length
        point = tuple(float(np.interp(at, edge.arc, edge.points[:, axis])) for axis in (0, 1))
        marks = tuple(replace(m, point=point) if m is mark else m for m in sized.landmarks)
        return replace(sized, landmarks=marks)

    return redrawn


def level_moved(level: str, dx: float, dy: float) -> Redraw:
    """A level moved."""

    def redrawn(sized: SizedPiece) -> SizedPiece:
        x, y = sized.levels[level]
        return replace(sized, levels={**sized.levels, level: (x + dx, y + dy)})

    return redrawn


def level_lost(level: str) -> Redraw:
    """A level forgotten."""
    return lambda sized: replace(
        sized, levels={name: at for name, at in sized.levels.items() if name != level}
    )


def tip_moved(dx: float, dy: float) -> Redraw:
    """The tip of every dart moved."""
    return lambda sized: replace(
        sized,
        darts=tuple(replace(d, tip=(d.tip[0] + dx, d.tip[1] + dy)) for d in sized.darts),
    )


def dart_lost(sized: SizedPiece) -> SizedPiece:
    """A dart forgotten: its legs are still marked on the edge."""
    return replace(sized, darts=())


def lines_moved(dx: float, dy: float) -> Redraw:
    """Inner lines and drill marks moved."""

    def redrawn(sized: SizedPiece) -> SizedPiece:
        by = np.array([dx, dy])
        lines = tuple(replace(x, points=frozen_points(x.points + by)) for x in sized.lines)
        drills = tuple(replace(m, point=(m.point[0] + dx, m.point[1] + dy)) for m in sized.drills)
        return replace(sized, lines=lines, drills=drills)

    return redrawn


def lines_lost(sized: SizedPiece) -> SizedPiece:
    """Inner lines forgotten."""
    return replace(sized, lines=())


def _pair(point: np.ndarray) -> tuple[float, float]:
    return float(point[0]), float(point[1])
