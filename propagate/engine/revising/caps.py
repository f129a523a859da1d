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
from propagate.engine.revising.carrying import Carrying
from propagate.engine.tape import edge_from_parts
from propagate.geometry.polyline import as_pair, between
from propagate.pattern.model import Array, Dart, SizedPiece
from propagate.tolerances import RESTS_MM, SEAM_LENGTH_MM

__all__ = ["carry_caps", "find_edges_with_darts", "straighten_mouths"]


def find_edges_with_darts(change: Carrying) -> frozenset[str]:
    """Find the edges that a drawing changed and on which a dart changed too."""
    names = {name for dart in change.darts for name in (dart.edge, dart.was_on) if name}
    return frozenset(name for name in names if change.was.edge(name) != change.now.edge(name))


def straighten_mouths(change: Carrying, edges: Collection[str]) -> Carrying:
    """Draw the mouths of darts straight on some edges, leg to leg, in all three pieces."""

    def straighten(piece: SizedPiece) -> SizedPiece:
        fresh = {}
        for name in edges:
            edge = piece.edge(name)
            mouths = sorted(mouth_of(piece, dart) for dart in piece.darts if dart.edge == name)
            if any(
                low + RESTS_MM < at < high - RESTS_MM for at in edge.arc for low, high in mouths
            ):
                ends = [0.0, *(at for mouth in mouths for at in mouth), edge.length]
                parts = [between(edge.points, *ends[k : k + 2]) for k in range(0, len(ends), 2)]
                fresh[name] = edge_from_parts(name, [np.vstack(parts)], edge.turn_points)
        return replace(piece, edges=tuple(fresh.get(edge.name, edge) for edge in piece.edges))

    was, now, other = map(straighten, (change.was, change.now, change.other))
    return replace(change, was=was, now=now, other=other)


def carry_caps(change: Carrying, new: SizedPiece, edges: Collection[str]) -> SizedPiece:
    """Cut the caps of a carried piece as they are in the base size, leg on leg.

    A dart that the drawing did not touch keeps the cap that it had in the other size.  Legs
    that are as long as each other in the base size are so here, too: the tip goes to above
    the middle of the mouth.

    Parameters
    ----------
    change : Carrying
        As drawn, with caps.
    new : SizedPiece
        The other size, carried with straight mouths on those edges.
    edges : collection of str
    """
    touched = {dart.name for dart in change.darts}
    darts = [
        replace(dart, tip=_centre_tip(change.now, new, dart)) if dart.name in touched else dart
        for dart in new.darts
    ]
    new = replace(new, darts=tuple(darts))
    for dart in new.darts:
        if dart.edge in edges:
            new = _add_cap(new, dart, change.now if dart.name in touched else change.other)
    return new


def _add_cap(new: SizedPiece, dart: Dart, like: SizedPiece) -> SizedPiece:
    """A straight mouth with the vertices that a dart of this name has elsewhere."""
    own = next((one for one in like.darts if one.name == dart.name), None)
    if own is None:
        return new
    source, edge = like.edge(own.edge), new.edge(dart.edge)
    cap = between(source.points, *mouth_of(like, own))
    low, high = mouth_of(new, dart)
    before, after = between(edge.points, 0.0, low), between(edge.points, high, edge.length)
    inner = _lay_cap(cap, before[-1], after[0])[1:-1]
    if not len(inner):
        return new
    turns = source.turn_points
    is_peak = [(np.abs(turns - point).max(axis=1) < RESTS_MM).any() for point in cap[1:-1]]
    corners = np.vstack([edge.turn_points, inner[is_peak]])
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
    drawn_apart = np.ptp(_measure_legs(now, now.dart(dart.name)))
    if drawn_apart > SEAM_LENGTH_MM or np.ptp(_measure_legs(new, dart)) <= RESTS_MM:
        return dart.tip
    first, last = (np.array(new.landmark(leg).point) for leg in legs_along(new, dart))
    across = (last - first) / np.hypot(*(last - first))
    off = float((np.asarray(dart.tip) - (first + last) / 2) @ across)
    return as_pair(rounded(np.asarray(dart.tip) - off * across))


def _measure_legs(piece: SizedPiece, dart: Dart) -> Array:
    ends = np.array([piece.landmark(leg).point for leg in dart.legs])
    return np.asarray(np.hypot(*(ends - dart.tip).T))
