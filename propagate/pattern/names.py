"""Look up what relations name, noting every name that does not exist; and names that are free."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import cached_property
from itertools import pairwise

from propagate.errors import UnknownName
from propagate.pattern.dart_shape import turned_back
from propagate.pattern.model import Edge, Landmark, SizedPiece
from propagate.pattern.outline_checks import Drawn
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Span
from propagate.tolerances import ON_LINE_MM

__all__ = ["Names", "Point", "find_repeated", "free_name", "are_near", "quote_names"]

Point = tuple[float, float]


def are_near(a: Point, b: Point) -> bool:
    """Tell whether two places are the same within what a point on a line may be off."""
    return math.dist(a, b) <= ON_LINE_MM


def quote_names(names: Iterable[str], between: str = ", ") -> str:
    """Names in quotes, with commas or a word between them."""
    return between.join(f"'{name}'" for name in names)


def find_repeated(names: Sequence[str]) -> list[str]:
    """Return the names that stand there more than once, in order."""
    if len(set(names)) == len(names):
        return []
    return list(dict.fromkeys(name for name in names if names.count(name) > 1))


def free_name(name: str, taken: Collection[str]) -> str:
    """Return a name that is not taken: the wanted one, or with the lowest number that is free."""
    number, found = 2, name
    while found in taken:
        found, number = f"{name}_{number}", number + 1
    return found


class Names:
    """What the pieces of a set have, seen from its relations.

    A name is looked up in the base size, since every size has the same names; places
    are compared in every size that is drawn without a fault.  What is wrong with a
    drawing is noted with the piece, and not again with each relation.

    Attributes
    ----------
    lines : list of str
        The problems noted so far.
    """

    def __init__(self, pattern: PatternSet, drawn: Sequence[Drawn]) -> None:
        self.pattern = pattern
        self.lines: list[str] = []
        self._sized = {(d.piece, d.size): d.sized for d in drawn if not d.problems}
        self._known = dict.fromkeys([*pattern.pieces, *pattern.info])
        self._measure: dict[str, SizedPiece] = {}
        for item in drawn:
            if item.sound and (item.size == pattern.base or item.piece not in self._measure):
                self._measure[item.piece] = item.sized

    def add(self, where: str, text: str) -> None:
        """Note a problem."""
        self.lines.append(f"{where}: {text}")

    def unknown(self, where: str, what: str, name: str, known: Sequence[str], of: str = "") -> None:
        """Note a name that does not exist, with the nearest that do."""
        self.add(where, str(UnknownName(what, name, known, of)))

    def sized(self, piece: str, size: str) -> SizedPiece | None:
        """Return a piece in one size, when it is drawn without a fault."""
        return self._sized.get((piece, size))

    def measure(self, piece: str) -> SizedPiece | None:
        """Return a soundly drawn piece in the size that names are looked up in."""
        return self._measure.get(piece)

    @cached_property
    def all_levels(self) -> Sequence[str]:
        """The names of all levels of all pieces, in order."""
        return tuple(dict.fromkeys(n for sized in self._measure.values() for n in sized.levels))

    # --------------------------------------------------------------- names of a piece

    def piece(self, where: str, name: str) -> SizedPiece | None:
        """Return the piece in the base size; None when unknown or unsound."""
        if name not in self._known:
            self.unknown(where, "piece", name, list(self._known))
        return self._measure.get(name)

    def edge(self, where: str, piece: str, name: str) -> Edge | None:
        """Return an edge of a piece; None when unknown."""
        sized = self.piece(where, piece)
        if sized is None:
            return None
        if name not in sized.edge_names:
            self.unknown(where, "edge", name, sized.edge_names, f"piece '{piece}'")
            return None
        return sized.edge(name)

    def landmark(self, where: str, piece: str, name: str) -> Landmark | None:
        """Return a landmark of a piece; None when unknown."""
        sized = self.piece(where, piece)
        if sized is None:
            return None
        found = sized.find_landmark(name)
        if found is None:
            known = [mark.name for mark in sized.landmarks] or sized.all_landmarks
            self.unknown(where, "landmark", name, known, f"piece '{piece}'")
        return found

    def far_landmark(self, where: str, text: str) -> tuple[str, Landmark] | None:
        """Return the piece and the landmark of ``PIECE.LANDMARK``."""
        piece, dot, name = text.partition(".")
        if not (piece and dot and name):
            self.add(where, f"found '{text}', expected PIECE.LANDMARK")
            return None
        mark = self.landmark(where, piece, name)
        return None if mark is None else (piece, mark)

    def on_edge(self, where: str, piece: str, edge: str, name: str) -> bool:
        """Check that ``start``, ``end`` or a landmark lies on an edge."""
        sized = self.piece(where, piece)
        if sized is None or edge not in sized.edge_names:
            return False
        try:
            sized.distance(edge, name)
        except UnknownName:
            known = ["start", "end", *(mark.name for mark in sized.landmarks_on(edge))]
            self.unknown(where, "landmark", name, known, f"edge '{piece}.{edge}'")
            return False
        return True

    def span(self, where: str, span: Span) -> bool:
        """Check that a span's piece, edge and landmarks exist."""
        if self.edge(where, span.piece, span.edge) is None:
            return False
        known = [self.on_edge(where, span.piece, span.edge, n) for n in (span.begin, span.end)]
        if not all(known):
            return False
        if span.begin == span.end:
            self.add(where, f"found the span '{span}' without length, expected two landmarks")
            return False
        return True

    def level(self, where: str, piece: str, name: str) -> bool:
        """Check that a piece has a level."""
        sized = self.piece(where, piece)
        if sized is None or name in sized.levels:
            return True
        self.unknown(where, "level", name, list(sized.levels), f"piece '{piece}'")
        return False

    def known_sizes(self, where: str, said: Iterable[str]) -> None:
        """Check that the set has sizes for which something is said."""
        for size in said:
            if size not in self.pattern.sizes:
                self.unknown(where, "size", size, self.pattern.sizes)

    # ------------------------------------------------------------------- silhouettes

    def silhouette(self, where: str, name: str) -> tuple[str, Mapping[str, Run]] | None:
        """Return the lead piece and the edges of an assembly or a plain piece."""
        assemblies = self.pattern.relations.assemblies
        if name in assemblies:
            return assemblies[name].lead, assemblies[name].edges
        if name in self._measure:
            names = self._measure[name].edge_names
            return name, {edge: (Span(name, edge),) for edge in names}
        if name not in self._known:
            self.unknown(where, "silhouette", name, [*assemblies, *self._known])
        return None

    def silhouette_edge(self, where: str, silhouette: str, edge: str) -> Run | None:
        """Return the run of a silhouette's edge; None when unknown."""
        found = self.silhouette(where, silhouette)
        if found is None:
            return None
        if edge not in found[1]:
            self.unknown(where, "edge", edge, list(found[1]), f"silhouette '{silhouette}'")
            return None
        return found[1][edge]

    # ------------------------------------------------------------------------- places

    def place(self, size: str, piece: str, edge: str, name: str) -> Point | None:
        """Return where ``start``, ``end`` or a landmark lies in one size, if it exists."""
        sized = self.sized(piece, size)
        if sized is None or edge not in sized.edge_names:
            return None
        if name in ("start", "end"):
            return sized.edge(edge).ends[name == "end"]
        mark = sized.find_landmark(name)
        return None if mark is None else mark.point

    def distance(self, size: str, piece: str, edge: str, name: str) -> float | None:
        """Return how far along an edge a landmark lies in one size, if it does, mm."""
        sized = self.sized(piece, size)
        if sized is None or edge not in sized.edge_names:
            return None
        try:
            return sized.distance(edge, name)
        except UnknownName:
            return None

    def ends(self, size: str, span: Span) -> tuple[Point, Point] | None:
        """Return the places of a span's two ends in one size, if they exist."""
        begin = self.place(size, span.piece, span.edge, span.begin)
        end = self.place(size, span.piece, span.edge, span.end)
        return None if begin is None or end is None else (begin, end)

    def run(self, where: str, run: Run) -> bool:
        """Check that a run is not empty, exists, and is one line within each piece."""
        if not run:
            self.add(where, "found an empty run, expected at least one span PIECE.EDGE")
            return False
        known = [self.span(where, span) for span in run]  # all of them: each notes its own
        return all(known) and self._continuous(where, run)

    def one_span(self, where: str, run: Run) -> bool:
        """Check that a run is one span."""
        if len(run) != 1:
            self.add(where, f"found {' + '.join(map(str, run)) or 'nothing'}, expected one span")
        return len(run) == 1

    def _continuous(self, where: str, run: Run) -> bool:
        for before, after in pairwise(run):
            if before.piece != after.piece or self._over_a_dart(before, after):
                continue
            for size in self.pattern.sizes:
                first, second = self.ends(size, before), self.ends(size, after)
                if first and second and math.dist(first[1], second[0]) > ON_LINE_MM:
                    gap = math.dist(first[1], second[0])
                    self.add(
                        where,
                        f"found a gap of {gap:.4g} mm in size '{size}' between '{before}' and "
                        f"'{after}', expected one line within piece '{before.piece}'; "
                        + self._cure(size, before.piece, first[1], second[0]),
                    )
                    return False
        return True

    def _cure(self, size: str, piece: str, left: Point, comes: Point) -> str:
        sized = self.sized(piece, size)
        if sized is None:
            return "put the spans in order"
        ring = sized.outline
        for begin, tip, end in turned_back(ring):
            ends = ring[[begin, end]]
            for pair in (ends, ends[::-1]):
                if max(math.dist(left, pair[0]), math.dist(comes, pair[1])) <= ON_LINE_MM:
                    x, y = ring[tip]
                    return (
                        f"between them the outline runs around a dart, in to ({x:.1f}, {y:.1f}) mm "
                        "and back: begin the set from its drawing again so that it is read as a "
                        "dart (darts=join for a DXF), or let one edge run over its mouth and list "
                        "it under 'darts' in the piece's geometry file"
                    )
        return "put the spans in order, or turn one with 'reversed'"

    def _over_a_dart(self, before: Span, after: Span) -> bool:
        sized = self._measure.get(before.piece)
        legs = {before.end, after.begin}
        return sized is not None and any(set(dart.legs) == legs for dart in sized.darts)
