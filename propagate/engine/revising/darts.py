"""Pair the darts of a revised drawing with those of the set, each as a whole.

Leg by leg a dart that was moved by its own width would get one leg's name for the other.  A
dart is the old one by its place; else by its name; else, when an edge has as many left in
both, in their order along the edge; else by the nearest middle.  What is left of the set's
darts went, what is left of the drawing's came; one that came where one went, with the same
tip, was swung.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import field

import numpy as np

from propagate.engine.darts.changes import legs_along, mouth_of
from propagate.engine.marks_on_lines import kept_or_share
from propagate.engine.reshape import rounded
from propagate.engine.revising.carrying import SAME_TIP_MM
from propagate.engine.revising.laid import LaidDrawing
from propagate.geometry.polyline import as_pair, locate
from propagate.pattern.model import Dart, Edge, SizedPiece
from propagate.values import dataclass

__all__ = ["DartPairs", "DrawnDart", "is_numbered", "pair_darts"]

Point = tuple[float, float]

_NUMBERED = re.compile(r"(?:\w+_)?(?:notch|mark|leg)_\d+|dart(?:_\d+)?")
"""What readers call landmarks and darts that a drawing does not name."""


@dataclass(frozen=True)
class DrawnDart:
    """A dart of the drawing on an edge of the set.

    Attributes
    ----------
    dart : Dart
        As drawn.
    edge : str
        Of the set.
    legs : (str, str)
        Names in the drawing, in their order along the set's edge.
    places : (float, float)
        Their distances from its start, ascending, mm.
    tip : (float, float)
        In the frame of the set.
    """

    dart: Dart
    edge: str
    legs: tuple[str, str]
    places: tuple[float, float]
    tip: Point

    @property
    def middle(self) -> float:
        """Distance of the middle of its mouth, mm."""
        return (self.places[0] + self.places[1]) / 2


@dataclass
class DartPairs:
    """Darts by the set's name, and who is left without a partner."""

    same: dict[str, DrawnDart] = field(default_factory=dict)
    went: list[Dart] = field(default_factory=list)
    came: list[DrawnDart] = field(default_factory=list)

    def find_swung(self, drawn: DrawnDart) -> Dart | None:
        """The dart that went where this one came: it has the same tip."""
        near = [d for d in self.went if np.hypot(*np.subtract(d.tip, drawn.tip)) <= SAME_TIP_MM]
        return near[0] if len(near) == 1 else None

    @property
    def legs_drawn(self) -> frozenset[str]:
        """Landmarks of the drawing that are legs of its darts."""
        return frozenset(leg for d in (*self.same.values(), *self.came) for leg in d.legs)

    def legs_of_set(self, old: SizedPiece) -> frozenset[str]:
        """Landmarks of the set that are legs of darts with a partner, or of those that went."""
        return frozenset(
            leg for d in old.darts if d.name in self.same or d in self.went for leg in d.legs
        )


def is_numbered(name: str) -> bool:
    """Whether a name is one that a reader gave, which says where a drawing began."""
    return _NUMBERED.fullmatch(name) is not None


def pair_darts(laid: LaidDrawing) -> DartPairs:
    """Pair the darts of a drawing with those of the set."""
    old, new = laid.old, laid.new
    drawn = list(_find_drawn(laid))
    pairs = DartPairs()
    for edge in laid.piece.edges:
        own = [dart for dart in old.darts if dart.edge == edge.name]
        theirs = [dart for dart in drawn if dart.edge == edge.name]
        _pair_edge(laid, edge, own, theirs, pairs)
        pairs.came += theirs
        marks = [
            (m.name, locate(edge.points, laid.motion.apply(m.point))[0])
            for m in new.landmarks
            if laid.partner.get(m.edge) == edge.name and m.kind != "mark"
            if m.name not in pairs.legs_drawn
        ]
        for dart in own:
            low, high = mouth_of(old, dart)
            longer = edge.length - old.edge(dart.edge).length
            # A drawing that shows no dart at all says by the length of the edge alone that one
            # is closed; else it left them undrawn.
            gone = new.darts or abs(longer + high - low) < abs(longer)
            if gone and len(_find_spare(laid, edge, dart, marks)) < 2:
                pairs.went.append(dart)
    return pairs


def _find_drawn(laid: LaidDrawing) -> Iterator[DrawnDart]:
    """Darts of the drawing whose two legs lie on an edge of the set."""
    for dart in laid.new.darts:
        name = laid.partner.get(dart.edge)
        if name is None:
            continue
        legs = [(laid.place_on(name, laid.new.landmark(leg)), leg) for leg in dart.legs]
        on = sorted((place, leg) for place, leg in legs if place is not None)
        if len(on) < 2:
            continue
        (low, first), (high, last) = on
        tip = as_pair(rounded(laid.motion.apply(dart.tip)))
        yield DrawnDart(dart, name, (first, last), (low, high), tip)


def _pair_edge(
    laid: LaidDrawing, edge: Edge, own: list[Dart], theirs: list[DrawnDart], pairs: DartPairs
) -> None:
    """Pair the darts of one edge; what has a partner is taken out of both lists."""

    def take(dart: Dart, drawn: DrawnDart) -> None:
        pairs.same[dart.name] = drawn
        own.remove(dart)
        theirs.remove(drawn)

    places = {
        dart.name: [
            kept_or_share(laid.old, edge, laid.old.landmark(leg))
            for leg in legs_along(laid.old, dart)
        ]
        for dart in own
    }
    for dart in tuple(own):
        here = np.array(places[dart.name])
        fits = [d for d in theirs if np.abs(here - d.places).max() <= laid.same_place_mm]
        if fits:
            take(dart, fits[0])
    for dart in tuple(own):
        named = [d for d in theirs if d.dart.name == dart.name and not is_numbered(dart.name)]
        if named:
            take(dart, named[0])
    if len(own) == len(theirs):
        in_order = sorted(own, key=lambda dart: mouth_of(laid.old, dart))
        for dart, drawn in zip(in_order, sorted(theirs, key=lambda d: d.places), strict=True):
            take(dart, drawn)
    while own and theirs:
        _, dart, drawn = min(
            ((abs(sum(places[o.name]) / 2 - d.middle), o, d) for o in own for d in theirs),
            key=lambda item: item[0],
        )
        take(dart, drawn)


def _find_spare(
    laid: LaidDrawing, edge: Edge, dart: Dart, marks: Sequence[tuple[str, float]]
) -> list[str]:
    """Marks of the drawing on an edge that may be the legs of a dart: they are no others."""
    others = [m for m in laid.old.landmarks_on(edge.name) if m.name not in dart.legs]
    names = {m.name for m in others}
    places = np.array([kept_or_share(laid.old, edge, m) for m in others])
    return [
        name
        for name, at in marks
        if name not in names and not (np.abs(places - at) <= laid.same_place_mm).any()
    ]
