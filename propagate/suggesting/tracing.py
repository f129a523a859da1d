"""Pieces of a joined set that lie on another one within its outline, as if traced from it.

A facing, an interfacing or a lining is drawn from its main piece: where it lies on it in every
size, edge on edge, it may follow whatever is changed there.  Only a person knows.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import replace

import numpy as np

from propagate.geometry.arrays import Array
from propagate.geometry.corner import signed_area
from propagate.geometry.inside import find_inside
from propagate.geometry.motion import Motion, fit
from propagate.geometry.polyline import is_straight, length, locate_all, sample_line
from propagate.pattern.answers import Question, question_of
from propagate.pattern.derived import Derived, DerivedEdge
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Seam, Span
from propagate.values import dataclass

__all__ = ["Tracing", "find_tracings", "list_tracings"]

LIES_MM = 0.25
"""An edge that was traced lies on its line within this, in every size."""
WIDTH_MM = 0.1
"""A width that was drawn parallel stays the same within this along the edge and over the sizes."""
LEAST_WIDTH_MM, MOST_WIDTH_MM = 2.0, 150.0
MOST_SHARE = 0.6
"""Of its main piece: a piece that is larger is a facing only if it is cut of another cloth."""
SAMPLES = 41
_INNER = slice(4, -4)


@dataclass(frozen=True)
class Tracing:
    """A piece that may be derived from another.

    Attributes
    ----------
    derived : Derived
        How it would be written.
    on : tuple of str
        Its edges that lie on the main piece.
    apart : float
        How far they are off it at most, in all sizes, mm.
    widths : mapping of edge to mm
        Edges that are parallel to one of the main piece.
    free : tuple of str
        Edges that keep their shape.
    walked : tuple of str
        Seams whose followers are all derived then: these are walked, not matched.
    """

    derived: Derived
    on: tuple[str, ...]
    apart: float
    widths: Mapping[str, float]
    free: tuple[str, ...]
    walked: tuple[str, ...]

    @property
    def runs(self) -> tuple[Run, Run]:
        """The edges that lie on the main piece, and those on which they lie."""
        lies = [one for one in self.derived.edges if one.edge in self.on]
        return (
            tuple(Span(self.derived.piece, one.edge, "start", "end") for one in lies),
            tuple(Span(self.derived.of, one.on, "start", "end") for one in lies),
        )

    @property
    def question(self) -> Question:
        """What is asked."""
        return question_of("derived", self.runs)

    def put_on(self, pattern: PatternSet) -> PatternSet:
        """The set in which the piece follows its main piece."""
        held = pattern.relations
        seams = {
            name: replace(one, check=True) if name in self.walked else one
            for name, one in held.seams.items()
        }
        derived = {**held.derived, self.derived.piece: self.derived}
        return replace(pattern, relations=replace(held, seams=seams, derived=derived))


@dataclass(frozen=True)
class _Laid:
    """A piece as it lies on another one, in every size."""

    piece: str
    of: str
    face_down: bool
    motions: Mapping[str, Motion]


def find_tracings(
    pattern: PatternSet, refused: Collection[tuple[str, str]] = ()
) -> tuple[Tracing, ...]:
    """Every piece that lies on a larger one as if traced from it, with the likeliest such piece.

    Parameters
    ----------
    refused : collection of (piece, main piece)
        What is known not to be so.
    """
    found: dict[str, Tracing] = {}
    for way in list_tracings(pattern):
        piece, of = way.derived.piece, way.derived.of
        # Of two that lie on each other one may follow.
        if (piece, of) not in refused and not (of in found and found[of].derived.of == piece):
            found.setdefault(piece, way)
    return tuple(found.values())


def list_tracings(pattern: PatternSet) -> Iterator[Tracing]:
    """Every way in which a piece lies on another one; piece by piece, the likeliest first."""
    held = pattern.relations
    inside = {part.piece for one in held.assemblies.values() for part in one.parts}
    inside |= {layer.piece for stack in held.stacks.values() for layer in stack.layers}
    for piece in pattern.pieces:
        if piece in held.derived or piece in inside:
            continue
        ways = [
            way
            for of in pattern.pieces
            if of != piece and not _is_above(pattern, of, piece)
            for way in _list_tracings(pattern, piece, of)
        ]
        # That on which most of it lies; of such, the smallest.
        ways.sort(
            key=lambda way: (len(way.free), _measure_area(pattern, way.derived.of), way.apart)
        )
        yield from ways


def _is_above(pattern: PatternSet, of: str, piece: str) -> bool:
    """Whether a piece is derived from another, even through a third."""
    derived = pattern.relations.derived
    while of in derived:
        of = derived[of].of
        if of == piece:
            return True
    return False


def _measure_area(pattern: PatternSet, piece: str) -> float:
    return abs(signed_area(pattern.sized(piece, pattern.base).outline))


def _list_tracings(pattern: PatternSet, piece: str, of: str) -> Iterator[Tracing]:
    share = _measure_area(pattern, piece) / _measure_area(pattern, of)
    other_cloth = pattern.info[piece].fabric != pattern.info[of].fabric
    if share > (1.0 + 1e-6 if other_cloth else MOST_SHARE) or _share_a_partner(pattern, piece, of):
        return
    seen: list[frozenset[tuple[str, str]]] = []
    for laid in _list_laid(pattern, piece, of):
        way = _trace_piece(pattern, laid)
        if way is None:
            continue
        lines = frozenset((one.edge, one.on) for one in way.derived.edges)
        if lines not in seen:
            seen.append(lines)
            yield way


def _share_a_partner(pattern: PatternSet, piece: str, of: str) -> bool:
    """Whether a third piece is sewn to both: then they lie beside each other, as front and back."""
    partners: dict[str, set[str]] = {piece: set(), of: set()}
    for seam in pattern.relations.seams.values():
        sewn = {span.piece for span in (*seam.lead, *seam.follow)}
        for one, others in partners.items():
            if one in sewn:
                others |= sewn - {piece, of}
    return bool(partners[piece] & partners[of])


def _list_laid(pattern: PatternSet, piece: str, of: str) -> Iterator[_Laid]:
    """Every way in which an edge of a piece is one of the other in all sizes, both as wholes."""
    own, main = (pattern.sized(name, pattern.base) for name in (piece, of))
    for edge in own.edges:
        for line in main.edges:
            if abs(edge.length - line.length) > LIES_MM:
                continue
            for face_down in (False, True):
                motions = {}
                for size in pattern.sizes:
                    a = pattern.sized(piece, size).edge(edge.name).points
                    b = pattern.sized(of, size).edge(line.name).points
                    if abs(length(a) - length(b)) > LIES_MM:
                        break
                    source, target = (sample_line(line, SAMPLES) for line in (a, b))
                    if face_down:  # walked the other way round its outline
                        source = source[::-1]
                    motion, gap = fit(source, target, face_down=face_down)
                    if gap > LIES_MM:
                        break
                    motions[size] = motion
                if len(motions) == len(pattern.sizes):
                    yield _Laid(piece, of, face_down, motions)


def _trace_piece(pattern: PatternSet, laid: _Laid) -> Tracing | None:
    """What of a piece lies on the other one, where that is enough and none sticks out."""
    base = pattern.sized(laid.piece, pattern.base)
    on: dict[str, str] = {}
    beside: dict[str, tuple[str, float]] = {}
    apart = 0.0
    for edge in base.edge_names:
        line, gap = _find_line(pattern, laid, edge)
        if line is not None:
            on[edge], apart = line, max(apart, gap)
        elif (parallel := _find_parallel(pattern, laid, edge)) is not None:
            beside[edge] = parallel
    names = base.edge_names
    corners = [a for a, b in zip(names, (*names[1:], names[0]), strict=True) if a in on and b in on]
    bent = any(not is_straight(base.edge(edge).points) for edge in on)
    if not corners or not (bent or len(on) > 2) or not _lies_inside(pattern, laid):
        return None
    edges = tuple(
        DerivedEdge(edge, on[edge])
        if edge in on
        else DerivedEdge(edge, beside[edge][0], inside=beside[edge][1])
        for edge in names
        if edge in on or edge in beside
    )
    derived = Derived(laid.piece, laid.of, edges, face_down=laid.face_down)
    return Tracing(
        derived,
        tuple(on),
        apart,
        {edge: width for edge, (_, width) in beside.items()},
        tuple(edge for edge in names if edge not in on and edge not in beside),
        tuple(_list_walked(pattern, laid.piece)),
    )


def _find_line(pattern: PatternSet, laid: _Laid, edge: str) -> tuple[str | None, float]:
    """The edge of the main piece on which an edge lies in every size, and how far off at most."""
    best: tuple[float, str | None] = (LIES_MM, None)
    for line in pattern.sized(laid.of, pattern.base).edge_names:
        gap = 0.0
        for size, placed in _find_place(pattern, laid, edge):
            _, gaps = locate_all(pattern.sized(laid.of, size).edge(line).points, placed)
            gap = max(gap, float(gaps.max()))
            if gap > best[0]:
                break
        else:
            best = (gap, line)
    return best[1], best[0]


def _find_parallel(pattern: PatternSet, laid: _Laid, edge: str) -> tuple[str, float] | None:
    """The edge of the main piece to which an edge is parallel in every size, and the width."""
    for line in pattern.sized(laid.of, pattern.base).edge_names:
        widths: list[float] = []
        for size, placed in _find_place(pattern, laid, edge):
            points = pattern.sized(laid.of, size).edge(line).points
            along, gaps = locate_all(points, placed[_INNER])
            # Beyond the ends of the line the nearest place of it is the end itself.
            beside = (along > 1e-6) & (along < length(points) - 1e-6)
            if beside.sum() < len(gaps) // 2:
                break
            widths += gaps[beside].tolist()
            if max(widths) - min(widths) > WIDTH_MM:
                break
        else:
            width = round(float(np.mean(widths)), 1)
            if LEAST_WIDTH_MM <= width <= MOST_WIDTH_MM:
                return line, width
    return None


def _find_place(pattern: PatternSet, laid: _Laid, edge: str) -> Iterator[tuple[str, Array]]:
    """Places along an edge as it lies on the main piece, in every size."""
    for size, motion in laid.motions.items():
        points = pattern.sized(laid.piece, size).edge(edge).points
        yield size, motion.apply(sample_line(points, SAMPLES))


def _lies_inside(pattern: PatternSet, laid: _Laid) -> bool:
    """Whether no place of the piece is outside of the main piece's outline."""
    for size, motion in laid.motions.items():
        main = pattern.sized(laid.of, size).outline
        placed = motion.apply(pattern.sized(laid.piece, size).outline)
        _, gaps = locate_all(np.concatenate([main, main[:1]]), placed)
        if bool((~find_inside(main, placed) & (gaps > LIES_MM)).any()):
            return False
    return True


def _list_walked(pattern: PatternSet, piece: str) -> Iterator[str]:
    """Seams that would write the piece, and nothing but derived pieces."""
    derived = {piece, *pattern.relations.derived}
    for name, seam in pattern.relations.seams.items():
        if _has_follower(seam, derived) and not seam.check:
            yield name


def _has_follower(seam: Seam, derived: set[str]) -> bool:
    return bool(seam.follow) and {span.piece for span in seam.follow} <= derived
