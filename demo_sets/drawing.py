"""From a draft to the pieces of a set: frames, rounding, corners, files.

A `Drawing` collects the edges and marks of one piece in one size in the drafting
frame; `Drawing.placed` turns it into the `SizedPiece` of the model in the frame that
the piece is stored in: rounded, with corners that are the same floats on both edges,
and counter-clockwise.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import numpy.typing as npt

from demo_sets.drafting import Bezier, flatten, join, rotated
from propagate.io.geometry_json import dump_piece
from propagate.pattern.grain import Grain
from propagate.pattern.model import (
    Array,
    Dart,
    Edge,
    InternalLine,
    Label,
    Landmark,
    LandmarkKind,
    Mark,
    Piece,
    SizedPiece,
)

__all__ = ["Drawing", "Frame", "write_pieces"]

DIGITS = 4
"""Decimals of stored coordinates (0.1 µm, so that curvature can be judged)."""


@dataclass(frozen=True)
class Frame:
    """The frame that a piece is stored in: mirrored in x first, turned, then moved."""

    angle: float = 0.0
    origin: tuple[float, float] = (0.0, 0.0)
    mirror: bool = False

    def apply(self, points: npt.ArrayLike) -> Array:
        """Points of the drafting frame in this frame, rounded to `DIGITS` decimals."""
        pts = np.atleast_2d(np.asarray(points, float)) * (
            (-1.0, 1.0) if self.mirror else (1.0, 1.0)
        )
        # Adding zero turns a rounded minus zero into zero.
        return np.round(rotated(pts, self.angle) + self.origin, DIGITS) + 0.0

    def point(self, place: npt.ArrayLike) -> tuple[float, float]:
        """One point as a pair of floats."""
        x, y = self.apply(place)[0]
        return float(x), float(y)


@dataclass(frozen=True, eq=False)
class _Stroke:
    name: str
    points: Array
    turns: tuple[int, ...]
    beziers: tuple[Bezier, ...]


@dataclass(eq=False)
class Drawing:
    """One piece in one size in the drafting frame, counter-clockwise.

    Edges follow each other in the order they are added; a mirrored frame reverses
    the order and every edge, so that the stored outline stays counter-clockwise.
    """

    strokes: list[_Stroke] = field(default_factory=list)
    landmarks: list[tuple[str, str, Array, LandmarkKind]] = field(default_factory=list)
    darts: list[tuple[str, str, tuple[str, str], Array]] = field(default_factory=list)
    lines: list[tuple[str, Array]] = field(default_factory=list)
    drills: list[tuple[str, Array]] = field(default_factory=list)
    levels: dict[str, npt.ArrayLike] = field(default_factory=dict)
    grain: tuple[npt.ArrayLike, npt.ArrayLike] = ((0.0, 0.0), (0.0, 100.0))
    label: tuple[npt.ArrayLike, float] | None = None

    def edge(self, name: str, points: npt.ArrayLike, turns: Sequence[int] = ()) -> None:
        """Add an edge given as points."""
        self.strokes.append(_Stroke(name, np.asarray(points, float), tuple(turns), ()))

    def edge_of_beziers(self, name: str, *beziers: Bezier) -> None:
        """Add an edge that is stored as path data, made of Béziers end to end."""
        ends = np.array([beziers[0].control[0], beziers[-1].control[-1]])
        self.strokes.append(_Stroke(name, ends, (), beziers))

    def mark(
        self, name: str, edge: str, place: npt.ArrayLike, kind: LandmarkKind = "notch"
    ) -> None:
        """Add a landmark; `place` must lie on the edge."""
        self.landmarks.append((name, edge, np.asarray(place, float), kind))

    def placed(self, frame: Frame) -> SizedPiece:
        """The piece in `frame`; raises ValueError when the outline is not simple and closed."""
        order = self.strokes[::-1] if frame.mirror else self.strokes
        edges = _closed([_stored(stroke, frame) for stroke in order])
        grain = Grain(frame.point(self.grain[0]), frame.point(self.grain[1]))
        sized = SizedPiece(
            edges=edges,
            grain=grain,
            landmarks=tuple(Landmark(n, e, frame.point(p), k) for n, e, p, k in self.landmarks),
            darts=tuple(
                Dart(n, e, legs[::-1] if frame.mirror else legs, frame.point(tip))
                for n, e, legs, tip in self.darts
            ),
            lines=tuple(InternalLine(n, frame.apply(p)) for n, p in self.lines),
            drills=tuple(Mark(n, frame.point(p)) for n, p in self.drills),
            levels={n: frame.point(p) for n, p in self.levels.items()},
            label=None
            if self.label is None
            else Label(frame.point(self.label[0]), self.label[1] + frame.angle),
        )
        x, y = sized.outline.T
        if float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) <= 0:
            raise ValueError(f"edges {sized.edge_names} run clockwise in the draft")
        return sized


def _stored(stroke: _Stroke, frame: Frame) -> Edge:
    if stroke.beziers:
        controls = [frame.apply(bezier.control) for bezier in stroke.beziers]
        if frame.mirror:
            controls = [control[::-1] for control in controls[::-1]]
        head = "M " + _numbers(controls[0][:1])
        path = " ".join([head, *("C " + _numbers(control[1:]) for control in controls)])
        return Edge(stroke.name, join(*(flatten(Bezier(c)) for c in controls)), (), path)
    points, turns = frame.apply(stroke.points), stroke.turns
    if frame.mirror:
        points = points[::-1]
        turns = tuple(len(points) - 1 - turn for turn in turns[::-1])
    return Edge(stroke.name, points, turns)


def _numbers(points: Array) -> str:
    return " ".join(
        f"{float(value):.{DIGITS}f}".rstrip("0").rstrip(".") for value in points.ravel()
    )


def _closed(edges: list[Edge]) -> tuple[Edge, ...]:
    """Give neighbours the very same corner; gaps wider than rounding are an error."""
    closed = []
    for before, edge in zip([edges[-1], *edges[:-1]], edges, strict=True):
        gap = float(np.hypot(*(before.points[-1] - edge.points[0])))
        if gap > 2 * 10.0**-DIGITS:
            raise ValueError(
                f"edge '{edge.name}' starts {gap:.4f} mm from the end of '{before.name}'"
            )
        if gap and edge.path:
            raise ValueError(f"edge '{edge.name}' is a path and its corner was rounded away")
        points = edge.points.copy()
        points[0] = before.points[-1]
        closed.append(Edge(edge.name, points, edge.turns, edge.path))
    return tuple(closed)


# --- files -------------------------------------------------------------------


def write_pieces(pieces: Mapping[str, Piece], folder: Path) -> None:
    """Write one file per piece into `folder`, in the form the program itself writes."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, piece in pieces.items():
        (folder / f"{name}.json").write_text(dump_piece(piece), encoding="utf-8")
