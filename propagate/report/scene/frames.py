"""Frames of drawings: a piece moved as a whole, a size laid on the base size."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.engine.main_sides import two_sided_mains
from propagate.geometry.crossing import line_crossings
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import point_at
from propagate.pattern.model import Edge, Label, SizedPiece, frozen_points
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Span

__all__ = ["laid_on_base", "moved_piece"]

Array = npt.NDArray[np.float64]


def moved_piece(piece: SizedPiece, motion: Motion) -> SizedPiece:
    """Move everything on a piece by a rigid motion that does not turn it face down."""

    def point(given: tuple[float, float]) -> tuple[float, float]:
        x, y = motion.apply(given).tolist()
        return x, y

    label = piece.label
    if label is not None:
        angle = label.angle + math.degrees(cmath.phase(motion.turn))
        label = Label(point(label.point), angle)
    return SizedPiece(
        edges=tuple(
            Edge(edge.name, frozen_points(motion.apply(edge.points)), edge.turns)
            for edge in piece.edges
        ),
        grain=replace(piece.grain, start=point(piece.grain.start), end=point(piece.grain.end)),
        landmarks=tuple(replace(mark, point=point(mark.point)) for mark in piece.landmarks),
        darts=tuple(replace(dart, tip=point(dart.tip)) for dart in piece.darts),
        lines=tuple(
            replace(line, points=frozen_points(motion.apply(line.points))) for line in piece.lines
        ),
        drills=tuple(replace(drill, point=point(drill.point)) for drill in piece.drills),
        levels={name: point(place) for name, place in piece.levels.items()},
        label=label,
    )


def laid_on_base(pattern: PatternSet, name: str, size: str) -> Motion:
    """Return motion that lays a size on the base size: grain parallel, place on place."""
    piece, base = pattern.sized(name, size), pattern.sized(name, pattern.base)
    turn = complex(*base.grain.direction) / complex(*piece.grain.direction)
    turned = Motion(turn / abs(turn))
    shift = _place_of_size(pattern, name, base) - turned.apply(_place_of_size(pattern, name, piece))
    return Motion(turned.turn, complex(*shift))


def _place_of_size(pattern: PatternSet, name: str, piece: SizedPiece) -> Array:
    """Return the place of a size that is laid on its twin.

    The height is the lay level's.  Across the grain it is where the centre edge of a main
    crosses its hold, else the level's own point.  A piece without the level is laid on
    its first corner.
    """
    if pattern.lay_on not in piece.levels:
        return np.asarray(piece.edges[0].points[0])
    grain = piece.grain.direction
    across = np.array([-grain[1], grain[0]])
    level = np.asarray(piece.levels[pattern.lay_on])
    centre = _centre_at_hold(pattern, name, piece)
    beside = level if centre is None else centre
    return np.asarray(grain * (level @ grain) + across * (beside @ across))


def _centre_at_hold(pattern: PatternSet, name: str, piece: SizedPiece) -> Array | None:
    """Tell where the centre edge of a main crosses the level of its hold; None elsewhere."""
    plan, assemblies = pattern.relations.blend, pattern.relations.assemblies
    middles = two_sided_mains(pattern, plan) if plan else frozenset()
    for main in plan.mains if plan else ():
        if main.silhouette in middles:
            continue
        assembly = assemblies.get(main.silhouette)
        run = assembly.edges[main.centre] if assembly else (Span(name, main.centre),)
        lead = assembly.lead if assembly else main.silhouette
        if lead != name or main.centre_hold not in piece.levels:
            continue
        points = piece.edge(run[0].edge).points
        grain = piece.grain.direction
        across = np.array([-grain[1], grain[0]])
        hits = line_crossings(points, np.asarray(piece.levels[main.centre_hold]), across)
        if len(hits):
            return point_at(points, float(hits[0]))
    return None
