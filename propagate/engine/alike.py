"""How far copies lie off each other, and how one is laid on another."""

from __future__ import annotations

import numpy as np

from propagate.engine.compare import edge_moved_mm
from propagate.engine.rows import Check
from propagate.engine.walk_checks import Walked, compare_sides
from propagate.geometry.motion import Motion, fit
from propagate.geometry.polyline import sample_line
from propagate.pattern.alike import Alike
from propagate.pattern.model import Edge, SizedPiece

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
    there = Edge(edge.name, laid.apply(edge.points), edge.turns)
    return there.reverse() if laid.face_down else there


def walk_alike(on: Walked, alike: Alike) -> list[Check]:
    """Each copy against the first: the farthest that lines or landmarks are apart."""
    first, *others = alike.pieces
    return [
        compare_sides("alike", alike, (other, first), 0.0, off)
        for other in others
        for off in [farthest_apart(on.piece(first), on.piece(other))]
    ]


def farthest_apart(model: SizedPiece, copy: SizedPiece) -> float:
    """The farthest that edges, landmarks and dart tips of two copies are apart, mm."""
    laid = laid_on_copy(model, copy)
    far = [edge_moved_mm(laid_edge(edge, laid), copy.edge(edge.name)) for edge in model.edges]
    own_marks = {mark.name: mark.point for mark in copy.landmarks}
    own_tips = {dart.name: dart.tip for dart in copy.darts}
    pairs = [(m.point, own_marks[m.name]) for m in model.landmarks if m.name in own_marks]
    pairs += [(dart.tip, own_tips[dart.name]) for dart in model.darts if dart.name in own_tips]
    return max(far + [float(np.hypot(*(laid.apply(a) - b))) for a, b in pairs])
