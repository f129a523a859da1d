"""Put a dart on a piece, and take one off without leaving a relation that points at nothing."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from propagate.engine.darts.changes import mouth_of
from propagate.engine.marks_on_lines import make_mark, put_mark
from propagate.geometry.correspond import NOISE_MM
from propagate.geometry.polyline import locate_all
from propagate.pattern.model import Dart, SizedPiece
from propagate.pattern.names import free_name

__all__ = ["with_dart", "without_dart"]


def without_dart(
    piece: SizedPiece, old: SizedPiece, name: str, named: Collection[str]
) -> SizedPiece:
    """Take a dart off a piece whose edges are new already.

    Parameters
    ----------
    piece, old : SizedPiece
        With the new edges, and as it was; both have the dart.
    named : collection of str
        Landmarks that relations name: such a leg stays as a mark where the dart was closed.
    """
    dart = old.dart(name)
    edge = piece.edge(dart.edge)
    # One of its legs mostly stayed on the line; else the place where both came together keeps its
    # share of the length without the mouth.
    along, gaps = locate_all(edge.points, np.array([old.landmark(leg).point for leg in dart.legs]))
    at = float(along[gaps.argmin()])
    if gaps.min() > NOISE_MM:
        low, high = mouth_of(old, dart)
        sewn = old.edge(dart.edge).length - (high - low)
        at = low / max(sewn, NOISE_MM) * edge.length
    marks = [
        replace(put_mark(mark, edge, at), kind="mark") if mark.name in dart.legs else mark
        for mark in piece.landmarks
        if mark.name not in dart.legs or mark.name in named
    ]
    darts = tuple(one for one in piece.darts if one.name != name)
    return replace(piece, landmarks=tuple(marks), darts=darts)


def with_dart(piece: SizedPiece, dart: Dart, places: tuple[float, float]) -> SizedPiece:
    """Put a dart on a piece; names that are taken get a number.

    Parameters
    ----------
    dart : Dart
        Its legs in the order in which they stand along the edge.
    places : (float, float)
        Distances of the legs from the start of the edge, mm.
    """
    taken = {mark.name for mark in piece.landmarks}
    edge = piece.edge(dart.edge)
    legs: list[str] = []
    marks = list(piece.landmarks)
    for leg, place in zip(dart.legs, places, strict=True):
        legs.append(free_name(leg, taken))
        taken.add(legs[-1])
        marks.append(make_mark(legs[-1], "dart leg", edge, place))
    name = free_name(dart.name, {one.name for one in piece.darts})
    darts = (*piece.darts, replace(dart, name=name, legs=(legs[0], legs[1])))
    return replace(piece, landmarks=tuple(marks), darts=darts)
