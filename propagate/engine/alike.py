"""How far copies lie off each other, and how one is laid on another."""

from __future__ import annotations

import numpy as np

from propagate.engine.rows import Check
from propagate.engine.walk_checks import Walked, verdict_of
from propagate.geometry.motion import Motion, fit
from propagate.geometry.polyline import locate_all, sample_line
from propagate.pattern.alike import Alike
from propagate.pattern.model import Array, Edge, SizedPiece

__all__ = ["laid_on_copy", "laid_edge", "walk_alike"]

_SAMPLES = 24


def laid_on_copy(model: SizedPiece, copy: SizedPiece) -> Motion:
    """The motion that lays a piece on its copy, edge on edge, face up where both ways fit.

    Parameters
    ----------
    model, copy : SizedPiece
        With the same names of edges.
    """
    found = []
    for face_down in (False, True):
        source, target = [], []
        for edge in model.edges:
            points = sample_line(edge.points, _SAMPLES)
            source.append(points[::-1] if face_down else points)
            target.append(sample_line(copy.edge(edge.name).points, _SAMPLES))
        found.append(fit(np.vstack(source), np.vstack(target), face_down=face_down))
    up, down = found
    return down[0] if down[1] < up[1] - 1e-6 else up[0]


def laid_edge(edge: Edge, laid: Motion) -> Edge:
    """An edge on a copy; one that lies face down is drawn the other way round."""
    points = laid.apply(edge.points)
    if not laid.face_down:
        return Edge(edge.name, points, edge.turns)
    last = len(points) - 1
    return Edge(edge.name, points[::-1], tuple(last - turn for turn in edge.turns[::-1]))


def walk_alike(on: Walked, alike: Alike) -> list[Check]:
    """Each copy against the first: the farthest that lines or landmarks are apart."""
    first, *others = alike.pieces
    checks = []
    for other in others:
        off = farthest_apart(on.piece(first), on.piece(other))
        said = verdict_of(off, alike.tolerance)
        sides = other, first
        what, most = " | ".join(sides), alike.tolerance
        checks.append(Check("alike", alike.name, what, 0.0, off, 0.0, off, most, said, sides=sides))
    return checks


def farthest_apart(model: SizedPiece, copy: SizedPiece) -> float:
    """The farthest that edges, landmarks and dart tips of two copies are apart, mm."""
    laid = laid_on_copy(model, copy)
    far = 0.0
    for edge in model.edges:
        mine, own = laid_edge(edge, laid).points, copy.edge(edge.name).points
        far = max(far, *(float(locate_all(a, b)[1].max()) for a, b in ((mine, own), (own, mine))))
        far = max(far, *(float(np.hypot(*(mine[k] - own[k]))) for k in (0, -1)))
    pairs: list[tuple[Array, Array]] = []
    own_marks = {mark.name: mark.point for mark in copy.landmarks}
    pairs += [
        (laid.apply(mark.point), np.asarray(own_marks[mark.name]))
        for mark in model.landmarks
        if mark.name in own_marks
    ]
    tips = {dart.name: dart.tip for dart in copy.darts}
    pairs += [
        (laid.apply(dart.tip), np.asarray(tips[dart.name]))
        for dart in model.darts
        if dart.name in tips
    ]
    return max([far, *(float(np.hypot(*(a - b))) for a, b in pairs)])
