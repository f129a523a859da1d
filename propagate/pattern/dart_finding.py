"""Find darts in a drawing that has no names for them.

A dart is drawn in one of three ways (common practice, no source).  The outline runs around
it, in along one leg and back along the other.  Or two notches on the outline stand where
its legs end, and a drill mark at, or a little short of, its tip; with turn points at the
notches the outline falls into three edges there, without them it stays one.  Sewn, it is
one edge in every case, and the stretch between the legs is the dart's mouth.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import field

from propagate.geometry.polyline import between
from propagate.pattern.dart_corners import corner_dart, one_edge
from propagate.pattern.dart_marks import marked, marked_darts
from propagate.pattern.dart_outlines import (
    DrawnDart,
    drawn_darts,
    joined,
    notches_at,
    turned_back,
)
from propagate.pattern.dart_words import corners_words, doubts, drawn_words, marked_words
from propagate.pattern.model import Array, Dart, SizedPiece
from propagate.values import dataclass

__all__ = ["FoundDart", "FoundDarts", "clear_of_mouths", "find_darts"]


MOST_DARTS = 40
"""More in one outline are an ornament."""


@dataclass(frozen=True)
class FoundDart:
    """A dart that was recognised.

    Attributes
    ----------
    edges : tuple of str
        The edges that are one edge now, which is called as the first of them.
    dart : Dart
        As it is in the base size.
    words : str
        What it was taken for, with the numbers of the base size.
    """

    edges: tuple[str, ...]
    dart: Dart
    words: str


@dataclass(frozen=True)
class FoundDarts:
    """The darts of a piece.

    Attributes
    ----------
    nest : dict of size to SizedPiece
        With one edge where a dart divided it, and a dart for each one found.
    found : tuple of FoundDart
    names : dict of str to str
        What every old edge is called now.
    doubts : tuple of str
        What the outline runs around and is not taken for a dart, and why.
    passed : tuple of str
        Drill marks inside of two notches that are not taken for one, and why.
    """

    nest: dict[str, SizedPiece]
    found: tuple[FoundDart, ...]
    names: dict[str, str]
    doubts: tuple[str, ...] = ()
    passed: tuple[str, ...] = ()


def find_darts(nest: Mapping[str, SizedPiece], base: str, keep: Collection[str] = ()) -> FoundDarts:
    """Find darts, where every size shows them.

    Parameters
    ----------
    nest : mapping of size to SizedPiece
        With the same edges, landmarks and drill marks in every size; a nest that differs
        is returned as it is.
    base : str
    keep : collection of str
        Edges that the drawing has names for: an outline that runs around a dart along them
        stays as it is drawn.
    """
    if len({_kinds(piece) for piece in nest.values()}) > 1:
        return FoundDarts(dict(nest), (), {name: name for name in nest[base].edge_names})
    work = _Work(base, dict(nest), {name: name for name in nest[base].edge_names})
    work.take_drawn(keep)
    work.take_corners()
    work.take_marks()
    return FoundDarts(
        work.nest, tuple(work.found), work.names, tuple(work.doubts), tuple(work.passed)
    )


@dataclass
class _Work:
    """A piece in which one dart after the other is found."""

    base: str
    nest: dict[str, SizedPiece]
    names: dict[str, str]
    found: list[FoundDart] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)
    passed: list[str] = field(default_factory=list)

    def _name(self) -> str:
        taken = {dart.name for dart in self.nest[self.base].darts}
        taken |= {mark.name.removesuffix("_a") for mark in self.nest[self.base].landmarks}
        return next(n for i in range(1, 10_000) if (n := f"dart_{i}") not in taken)

    def _note(self, edges: tuple[str, ...], words: str) -> None:
        self.names = {k: edges[0] if v in edges else v for k, v in self.names.items()}
        self.found.append(FoundDart(edges, self.nest[self.base].darts[-1], words))

    def take_drawn(self, keep: Collection[str]) -> None:
        """Take what the outline runs around; each one joins edges, so look again after it."""
        times = max(len(turned_back(piece.outline)) for piece in self.nest.values())
        if times > MOST_DARTS:
            self.doubts.append(
                f"its outline runs in and back {times} times: no darts were looked for in it"
            )
            return
        while True:
            drawn = {size: drawn_darts(piece, keep) for size, piece in self.nest.items()}
            everywhere = _in_every_size(drawn, self.base)
            taken = next(
                (one for one in everywhere if not any(d.against for d in one.values())), None
            )
            if taken is None:
                self.doubts += doubts(drawn, everywhere, self.base)
                return
            name = self._name()
            words = drawn_words(taken, self.base, name)
            notches = notches_at(self.nest[self.base], taken[self.base])
            self.nest = {s: joined(p, taken[s], name, notches) for s, p in self.nest.items()}
            self._note(taken[self.base].edges, words)

    def take_corners(self) -> None:
        """Take three edges that two notches divide, with a drill mark."""
        while (candidate := corner_dart(self.nest, self.base)) is not None:
            name = self._name()
            words = corners_words(candidate, name)
            self.nest = {s: one_edge(p, candidate, name) for s, p in self.nest.items()}
            self._note(candidate.edges, words)

    def take_marks(self) -> None:
        """Take two notches on one edge and a drill mark."""
        for one in marked_darts(self.nest, self.base):
            if one.against:
                self.passed.append(marked_words(one))
                continue
            name = self._name()
            self.nest = {s: marked(p, one, name) for s, p in self.nest.items()}
            edge = self.nest[self.base].darts[-1].edge
            self._note((edge,), marked_words(one, name))


def _in_every_size(drawn: Mapping[str, list[DrawnDart]], base: str) -> list[dict[str, DrawnDart]]:
    """Darts with their counterparts: the same edges, as many times in every size."""
    keys = dict.fromkeys(one.edges for one in drawn[base])
    found: list[dict[str, DrawnDart]] = []
    for key in keys:
        own = {size: [one for one in listed if one.edges == key] for size, listed in drawn.items()}
        if len({len(listed) for listed in own.values()}) == 1:
            found += [
                {size: listed[k] for size, listed in own.items()} for k in range(len(own[base]))
            ]
    return found


def _kinds(piece: SizedPiece) -> tuple[object, ...]:
    return (
        piece.edge_names,
        tuple((mark.name, mark.kind) for mark in piece.landmarks),
        tuple(mark.name for mark in piece.drills),
    )


def clear_of_mouths(piece: SizedPiece, edge: str) -> Array:
    """(n, 2) longest stretch of an edge without the mouth of a dart."""
    whole = piece.edge(edge)
    places = {0.0, whole.length}
    for dart in piece.darts:
        if dart.edge == edge:
            places |= {piece.distance(edge, leg) for leg in dart.legs}
    stops = sorted(places)
    # Legs come in pairs, so mouths are every other stretch.
    parts = [(stops[i + 1] - stops[i], i) for i in range(0, len(stops) - 1, 2)]
    _, best = max(parts, key=lambda item: (item[0], -item[1]))
    if len(stops) == 2:
        return whole.points
    return between(whole.points, stops[best], stops[best + 1])
