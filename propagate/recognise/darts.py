"""Find darts in a drawing that has no names for them.

A dart is drawn in one of three ways (common practice, no source).  The outline runs around
it, in along one leg and back along the other.  Or two notches on the outline stand where
its legs end, and a drill mark at, or a little short of, its tip; with turn points at the
notches the outline falls into three edges there, without them it stays one.  Sewn, it is
one edge in every case, and the stretch between the legs is the dart's mouth.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import field

from propagate.geometry.polyline import between
from propagate.pattern.dart_shape import turned_back
from propagate.pattern.model import Array, Dart, SizedPiece
from propagate.recognise.dart_marks import (
    MarkedDart,
    corner_dart,
    mark_dart,
    marked_darts,
    one_edge,
)
from propagate.recognise.dart_outlines import (
    DrawnDart,
    drawn_darts,
    join_dart,
    match_darts,
    notches_at,
)
from propagate.values import dataclass

__all__ = ["MOST_TIPS", "FoundDart", "FoundDarts", "clear_of_mouths", "find_darts"]

MOST_DARTS = 40
"""More in one outline are an ornament."""
MOST_TIPS = 20
"""More drill marks in a piece are an ornament; looking for darts in it takes long."""
_NUMBERS = {3: "three", 4: "four"}
MOST_TOLD = 5  # of what is no dart


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
    kinds = {
        (
            piece.edge_names,
            tuple((mark.name, mark.kind) for mark in piece.landmarks),
            tuple(mark.name for mark in piece.drills),
        )
        for piece in nest.values()
    }
    if len(kinds) > 1:
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
            everywhere = match_darts(drawn, self.base)
            taken = next(
                (one for one in everywhere if not any(d.against for d in one.values())), None
            )
            if taken is None:
                self.doubts += _say_doubts(drawn, everywhere, self.base)
                return
            name = self._name()
            one = taken[self.base]
            apart = max(abs(drawn.legs[0] - drawn.legs[1]) for drawn in taken.values())
            words = (
                f"a dart that the outline runs around is taken for '{name}': its legs of "
                f"{one.legs[0]:.1f} and {one.legs[1]:.1f} mm (in every size equal within "
                f"{apart:.2f} mm) lie inside now, and the edge runs over its mouth of "
                f"{one.mouth:.1f} mm; a piece that is drawn anew has notches and a drill mark there"
            )
            notches = notches_at(self.nest[self.base], one)
            self.nest = {s: join_dart(p, taken[s], name, notches) for s, p in self.nest.items()}
            self._note(one.edges, words)

    def take_corners(self) -> None:
        """Take edges in a row that two notches divide, with a drill mark."""
        while (candidate := corner_dart(self.nest, self.base)) is not None:
            name = self._name()
            words = (
                f"notches '{candidate.legs[0]}' and '{candidate.legs[1]}' and a drill mark are "
                f"taken for a dart, '{name}', and the {_NUMBERS[len(candidate.edges)]} edges there "
                "for one"
            )
            self.nest = {s: one_edge(p, candidate, name) for s, p in self.nest.items()}
            self._note(candidate.edges, words)

    def take_marks(self) -> None:
        """Take two notches on one edge and a drill mark."""
        for one in marked_darts(self.nest, self.base):
            if one.against:
                self.passed.append(_say_marked(one))
                continue
            name = self._name()
            self.nest = {s: mark_dart(p, one, name) for s, p in self.nest.items()}
            edge = self.nest[self.base].darts[-1].edge
            self._note((edge,), _say_marked(one, name))


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


# ------------------------------------------------------------------------------ what is said


def _say_marked(one: MarkedDart, name: str = "") -> str:
    """For two notches and a drill mark on one edge; without a name, why they are no dart."""
    legs = f"notches '{one.legs[0]}' and '{one.legs[1]}', {one.mouth:.1f} mm apart,"
    if not name:
        return f"drill mark '{one.drill}' by {legs} is not taken for a dart: {one.against}"
    return (
        f"{legs} and drill mark '{one.drill}' are taken for a dart, '{name}', with legs of "
        f"{one.lengths[0]:.1f} and {one.lengths[1]:.1f} mm; its mouth does not count in the "
        "length of the edge"
    )


def _say_doubts(
    drawn: Mapping[str, list[DrawnDart]], everywhere: list[dict[str, DrawnDart]], base: str
) -> Iterator[str]:
    """Why what the outline runs around is no dart."""
    known = [id(one[base]) for one in everywhere]
    for one in drawn[base][:MOST_TOLD]:
        same = everywhere[known.index(id(one))] if id(one) in known else {}
        sizes = [f"{other.against} in size {size}" for size, other in same.items() if other.against]
        why = sizes[0] if sizes else "it is not drawn so in every size"
        x, y = one.place
        yield (
            f"the outline runs {one.legs[0]:.1f} mm in to ({x:.1f}, {y:.1f}) mm and "
            f"{one.legs[1]:.1f} mm back, over a mouth of {one.mouth:.1f} mm; that is not taken for "
            f"a dart: {why}"
        )
