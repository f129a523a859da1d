"""Carry an edge without the caps of its darts, and cut them again in the other size.

A cap belongs to its dart and not to the edge: carried as if it were a part of the line, a peak
that was cut in the base size would bend what lies beside it in another one.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from propagate.engine.darts.changes import legs_along, mouth_of
from propagate.engine.reshape import rounded
from propagate.engine.revising.carried_edges import changed_mouths
from propagate.engine.tape import edge_from_parts
from propagate.geometry.polyline import between
from propagate.pattern.model import Array, Dart, Edge, SizedPiece
from propagate.tolerances import RESTS_MM, SEAM_LENGTH_MM

__all__ = ["edges_with_darts", "straight_mouths", "with_carried_caps"]


def edges_with_darts(was: SizedPiece, now: SizedPiece) -> frozenset[str]:
    """Edges that a drawing changed and on which a dart changed too."""
    names = {
        name for change in changed_mouths(was, now) for name in (change.edge, change.was_on) if name
    }
    return frozenset(name for name in names if was.edge(name) != now.edge(name))


def straight_mouths(piece: SizedPiece, edges: Collection[str]) -> SizedPiece:
    """The piece with the mouths of its darts straight on some edges, leg to leg."""
    fresh = {name: _straighten_mouths(piece, piece.edge(name)) for name in edges}
    return replace(piece, edges=tuple(fresh.get(edge.name, edge) for edge in piece.edges))


def _straighten_mouths(piece: SizedPiece, edge: Edge) -> Edge:
    """An edge without the vertices between the legs of its darts."""
    mouths = sorted(mouth_of(piece, dart) for dart in piece.darts if dart.edge == edge.name)
    inside = [any(low + RESTS_MM < at < high - RESTS_MM for low, high in mouths) for at in edge.arc]
    if not any(inside):
        return edge
    ends = [0.0, *(at for mouth in mouths for at in mouth), edge.length]
    parts = [between(edge.points, *ends[k : k + 2]) for k in range(0, len(ends), 2)]
    corners = edge.points[list(edge.turns)].reshape(-1, 2)
    return edge_from_parts(edge.name, [np.vstack(parts)], corners)


def with_carried_caps(
    was: SizedPiece, now: SizedPiece, other: SizedPiece, new: SizedPiece, edges: Collection[str]
) -> SizedPiece:
    """Cut the caps of a carried piece as they are in the base size, leg on leg.

    A dart that the drawing did not touch keeps the cap that it had in the other size.  Legs
    that are as long as each other in the base size are so here, too: the tip goes to above
    the middle of the mouth.

    Parameters
    ----------
    was, now : SizedPiece
        The base size before, and as drawn.
    other, new : SizedPiece
        The other size before, and carried with straight mouths on those edges.
    edges : collection of str
    """
    touched = {change.name for change in changed_mouths(was, now)}
    tips = {dart.name: _centre_tip(now, new, dart) for dart in new.darts if dart.name in touched}
    new = replace(new, darts=tuple(replace(d, tip=tips.get(d.name, d.tip)) for d in new.darts))
    for dart in new.darts:
        if dart.edge in edges:
            new = _add_cap(new, dart, now if dart.name in touched else other)
    return new


def _add_cap(new: SizedPiece, dart: Dart, like: SizedPiece) -> SizedPiece:
    """A straight mouth with the vertices that a dart of this name has elsewhere."""
    own = next((one for one in like.darts if one.name == dart.name), None)
    if own is None:
        return new
    source = like.edge(own.edge)
    cap = between(source.points, *mouth_of(like, own))
    edge = new.edge(dart.edge)
    low, high = mouth_of(new, dart)
    before, after = between(edge.points, 0.0, low), between(edge.points, high, edge.length)
    inner = _lay_cap(cap, before[-1], after[0])[1:-1]
    if not len(inner):
        return new
    turns = source.points[list(source.turns)].reshape(-1, 2)
    peaks = [
        k
        for k, point in enumerate(cap[1:-1])
        if (np.abs(turns - point).max(axis=1) < RESTS_MM).any()
    ]
    corners = np.vstack([edge.points[list(edge.turns)].reshape(-1, 2), inner[peaks].reshape(-1, 2)])
    fresh = edge_from_parts(edge.name, [np.vstack([before, inner, after])], corners)
    return replace(new, edges=tuple(fresh if one is edge else one for one in new.edges))


def _lay_cap(cap: Array, first: Array, last: Array) -> Array:
    """A line moved, turned and scaled so that it runs from one point to another."""
    z = cap @ np.array([1.0, 1j])
    a, b = complex(*first), complex(*last)
    w = a + (z - z[0]) * ((b - a) / (z[-1] - z[0]))
    return rounded(np.column_stack([w.real, w.imag]))


def _centre_tip(now: SizedPiece, new: SizedPiece, dart: Dart) -> tuple[float, float]:
    """The tip above the middle of the mouth, where it is so in the base size."""
    drawn = next(one for one in now.darts if one.name == dart.name)
    if (
        np.ptp(_measure_legs(now, drawn)) > SEAM_LENGTH_MM
        or np.ptp(_measure_legs(new, dart)) <= RESTS_MM
    ):
        return dart.tip
    first, last = (np.array(new.landmark(leg).point) for leg in legs_along(new, dart))
    across = (last - first) / np.hypot(*(last - first))
    off = float((np.asarray(dart.tip) - (first + last) / 2) @ across)
    x, y = rounded(np.asarray(dart.tip) - off * across)
    return float(x), float(y)


def _measure_legs(piece: SizedPiece, dart: Dart) -> Array:
    ends = np.array([piece.landmark(leg).point for leg in dart.legs])
    return np.asarray(np.hypot(*(ends - dart.tip).T))
