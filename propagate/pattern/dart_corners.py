"""Find darts at which an outline falls into three edges: two notches and a drill mark."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from propagate.pattern.dart_limits import AT_CORNER_MM, LEGS_MM, MOUTH_MM
from propagate.pattern.model import Array, Dart, Edge, Landmark, SizedPiece, frozen_points
from propagate.values import dataclass

__all__ = ["Corners", "corner_dart", "one_edge"]


@dataclass(frozen=True)
class Corners:
    """Three edges in a row, the notches at the middle one's ends, and the drill mark."""

    edges: tuple[str, str, str]
    legs: tuple[str, str]
    drill: str


def corner_dart(pieces: Mapping[str, SizedPiece], base: str) -> Corners | None:
    """The first dart that every size shows."""
    for candidate in _candidates(pieces[base]):
        if all(_is_dart(piece, candidate) for piece in pieces.values()):
            return candidate
    return None


def _candidates(piece: SizedPiece) -> Iterator[Corners]:
    count = len(piece.edges)
    if count < 5:  # three edges in a row and at least two more close an outline
        return
    tips = np.array([drill.point for drill in piece.drills]).reshape(-1, 2)
    at_start = _notches_at(piece, np.array([edge.points[0] for edge in piece.edges]))
    for i, mouth in enumerate(piece.edges):
        before, after = piece.edges[i - 1], piece.edges[(i + 1) % count]
        legs = at_start[i], at_start[(i + 1) % count]
        if legs[0] is None or legs[1] is None or mouth.length > MOUTH_MM:
            continue
        ends = mouth.points[[0, -1]]
        legs_to = np.hypot(*(tips[:, None] - ends).transpose(2, 0, 1))
        for index in np.flatnonzero(np.abs(legs_to[:, 0] - legs_to[:, 1]) <= LEGS_MM).tolist():
            drill = piece.drills[index]
            yield Corners(
                (before.name, mouth.name, after.name), (legs[0].name, legs[1].name), drill.name
            )


def _notches_at(piece: SizedPiece, points: Array) -> list[Landmark | None]:
    """The first notch at each corner."""
    notches = [mark for mark in piece.landmarks if mark.kind == "notch"]
    if not notches:
        return [None] * len(points)
    apart = points[:, None] - np.array([mark.point for mark in notches])
    near = np.hypot(apart[:, :, 0], apart[:, :, 1]) <= AT_CORNER_MM
    return [notches[int(row.argmax())] if row.any() else None for row in near]


def _is_dart(piece: SizedPiece, candidate: Corners) -> bool:
    """Legs of the same length, longer than the mouth is wide, on the inner side of it."""
    mouth = piece.edge(candidate.edges[1])
    ends = mouth.points[[0, -1]]
    marks = [piece.landmark(name).point for name in candidate.legs]
    if float(np.hypot(*(ends - np.array(marks)).T).max()) > AT_CORNER_MM:
        return False
    tip = np.array(next(m.point for m in piece.drills if m.name == candidate.drill))
    legs = np.hypot(*(tip - ends).T)
    chord = ends[1] - ends[0]
    inward = np.array([-chord[1], chord[0]])  # the outline runs counter-clockwise
    return bool(
        0 < mouth.length <= MOUTH_MM
        and abs(float(legs[0] - legs[1])) <= LEGS_MM
        and legs.min() > np.hypot(*chord)
        and (tip - ends[0]) @ inward > 0
    )


def one_edge(piece: SizedPiece, candidate: Corners, name: str) -> SizedPiece:
    """Make one edge of three, with the dart on it."""
    parts = [piece.edge(edge) for edge in candidate.edges]
    edge = _chained(parts, candidate.edges[0])
    first, *others = candidate.edges
    edges = tuple(edge if e.name == first else e for e in piece.edges if e.name not in others)
    points = dict(zip(candidate.legs, (parts[1].points[0], parts[1].points[-1]), strict=True))
    landmarks = tuple(
        Landmark(mark.name, edge.name, _pair(points[mark.name]), "dart leg")
        if mark.name in points
        else (replace(mark, edge=edge.name) if mark.edge in others else mark)
        for mark in piece.landmarks
    )
    tip = next(mark.point for mark in piece.drills if mark.name == candidate.drill)
    return replace(
        piece,
        edges=edges,
        landmarks=landmarks,
        drills=tuple(mark for mark in piece.drills if mark.name != candidate.drill),
        darts=(
            *(replace(d, edge=edge.name) if d.edge in candidate.edges else d for d in piece.darts),
            Dart(name, edge.name, candidate.legs, tip),
        ),
    )


def _pair(point: Array) -> tuple[float, float]:
    x, y = point.tolist()
    return x, y


def _chained(parts: list[Edge], name: str) -> Edge:
    points = [parts[0].points]
    turns = list(parts[0].turns)
    done = len(parts[0].points) - 1
    for part in parts[1:]:
        turns += [done, *(done + turn for turn in part.turns)]
        points.append(part.points[1:])
        done += len(part.points) - 1
    return Edge(name, frozen_points(np.concatenate(points)), tuple(turns))
