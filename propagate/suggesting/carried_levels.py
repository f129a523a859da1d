"""A level that is known on some pieces, carried along their seams to all others that it crosses.

Where a pair of notches lies on a seam near to where the level crosses it, the level goes through
the mate of that notch; else it lies as far along the seam on the other side, between the pairs of
notches beside it in proportion.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Set

import numpy as np

from propagate.engine.levels import level_crossings
from propagate.geometry.arrays import Array
from propagate.geometry.polyline import point_at
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Seam
from propagate.pattern.spans import (
    Lookup,
    closed_length,
    distance_on_run,
    folded_mouths,
    run_length,
    span_ends,
    span_length,
    span_points,
)
from propagate.suggesting.levels import LevelPoints, Point, put_levels, round_point
from propagate.suggesting.nest import measure_lean
from propagate.suggesting.side_lines import open_place

__all__ = ["carry_level"]

_NOTCH_NEAR_MM = 10.0
"""A pair of notches that lies no further from a level says where it lies on the other side."""
_INSIDE_MM = 5.0
"""What is crossed nearer to an end of a seam is only touched there."""
_ALONG = float(np.cos(np.radians(45.0)))
_LEVEL = "carried"


def carry_level(
    pattern: PatternSet, at: LevelPoints, barred: Set[str]
) -> dict[str, Mapping[str, Point]]:
    """A level on all pieces that it crosses, seam by seam from those on which it is known.

    Parameters
    ----------
    at : mapping of piece to a point for each size
    barred : set of ``PIECE.EDGE``
        Edges over which nothing is carried.
    """
    found = dict(at)
    held = pattern.relations
    still = held.derived.keys() | {name for name, one in pattern.info.items() if one.strip}
    while True:
        laid = put_levels(pattern, {_LEVEL: found})
        reached: dict[str, list[Mapping[str, Point]]] = {}
        for seam in held.seams.values():
            if not seam.mirror:
                for piece, points in _cross_seam(laid, seam, found.keys(), barred):
                    reached.setdefault(piece, []).append(points)
        new = {
            piece: {
                size: round_point(np.mean([points[size] for points in ways], axis=0))
                for size in pattern.sizes
            }
            for piece, ways in reached.items()
            if piece not in still
        }
        new = {piece: points for piece, points in new.items() if _crosses(pattern, piece, points)}
        if not new:
            return found
        found |= new


def _cross_seam(
    pattern: PatternSet, seam: Seam, known: Set[str], barred: Set[str]
) -> Iterator[tuple[str, Mapping[str, Point]]]:
    """Pieces on one side of a seam that the level reaches from the other, each with its points."""
    for ours, theirs, turned in ((seam.lead, seam.follow, False), (seam.follow, seam.lead, True)):
        if barred & {span.key for span in ours}:
            continue
        if not {span.piece for span in ours} & known or {s.piece for s in theirs} <= known:
            continue
        pairs = [pair[::-1] if turned else pair for pair in seam.notches]
        places = {size: _find_on_run(pattern.in_size(size), ours, known) for size in pattern.sizes}
        pair = _find_pair(pattern, ours, theirs, pairs, places[pattern.base])
        reached: dict[str, Point] = {}
        pieces = set()
        for size, place in places.items():
            if place is None:
                break
            if pair is not None:
                piece, _, mark = pair.partition(".")
                reached[size] = pattern.sized(piece, size).landmark(mark).point
            else:
                other = _map_place(pattern, size, ours, theirs, pairs, place)
                piece, reached[size] = _put_on_run(pattern, size, theirs, other)
            pieces.add(piece)
        if len(reached) == len(pattern.sizes) and len(pieces) == 1 and not pieces & {*known}:
            yield pieces.pop(), reached


def _find_on_run(lookup: Lookup, run: Run, known: Set[str]) -> float | None:
    """How far along a run the level crosses it, clear of its ends; None unless it does so once."""
    done, found = 0.0, list[float]()
    for span in run:
        sized = lookup(span.piece)
        if span.piece in known and _goes_along(sized, span_points(sized, span)):
            begin, end = span_ends(sized, span)
            for hit in level_crossings(sized, _LEVEL, sized.edge(span.edge).points):
                if min(begin, end) < hit < max(begin, end):
                    found.append(done + closed_length(sized, span.edge, begin, float(hit)))
        done += span_length(sized, span)
    inside = [at for at in found if _INSIDE_MM < at < done - _INSIDE_MM]
    return inside[0] if len(inside) == 1 else None


def _goes_along(sized: SizedPiece, points: Array) -> bool:
    return measure_lean(points, sized.grain.direction) > _ALONG


def _list_knots(
    pattern: PatternSet, size: str, ours: Run, theirs: Run, pairs: list[tuple[str, str]]
) -> Iterator[tuple[float, float, str]]:
    """Pairs of notches as distances along both runs, with the mate."""
    lookup = pattern.in_size(size)
    for own, mate in pairs:
        here, there = own.partition("."), mate.partition(".")
        first = distance_on_run(lookup, ours, here[0], here[2])
        second = distance_on_run(lookup, theirs, there[0], there[2])
        if first is not None and second is not None:
            yield first, second, mate


def _find_pair(
    pattern: PatternSet,
    ours: Run,
    theirs: Run,
    pairs: list[tuple[str, str]],
    place: float | None,
) -> str | None:
    """The mate of the notch that lies near to where a level crosses, in the base size."""
    if place is None:
        return None
    knots = _list_knots(pattern, pattern.base, ours, theirs, pairs)
    near = [(abs(own - place), mate) for own, _, mate in knots]
    return min(near)[1] if near and min(near)[0] <= _NOTCH_NEAR_MM else None


def _map_place(
    pattern: PatternSet,
    size: str,
    ours: Run,
    theirs: Run,
    pairs: list[tuple[str, str]],
    place: float,
) -> float:
    """How far along the other run a place of a run is sewn, mm."""
    lookup = pattern.in_size(size)
    knots = [(own, other) for own, other, _ in _list_knots(pattern, size, ours, theirs, pairs)]
    ends = [(0.0, 0.0), (run_length(lookup, ours), run_length(lookup, theirs))]
    here, there = np.array(sorted([*ends, *knots])).T
    return float(np.interp(place, here, there))


def _put_on_run(pattern: PatternSet, size: str, run: Run, place: float) -> tuple[str, Point]:
    """The piece and the point at a distance along a run, darts closed."""
    for span in run:
        sized = pattern.sized(span.piece, size)
        long = span_length(sized, span)
        if place <= long or span is run[-1]:
            break
        place -= long
    begin, end = span_ends(sized, span)
    mouths = folded_mouths(sized, span.edge)
    if begin > end:
        mouths = sorted((begin - high, begin - low) for low, high in mouths if low < begin)
        at = begin - open_place(mouths, place)
    else:
        mouths = [(low - begin, high - begin) for low, high in mouths if high > begin]
        at = begin + open_place(mouths, place)
    return span.piece, round_point(point_at(sized.edge(span.edge).points, at))


def _crosses(pattern: PatternSet, piece: str, points: Mapping[str, Point]) -> bool:
    """Whether a level crosses a piece from one edge that goes along the grain to another."""
    laid = put_levels(pattern, {_LEVEL: {piece: points}})
    for size in pattern.sizes:
        sized = laid.sized(piece, size)
        hits = 0
        for edge in sized.edges:
            if _goes_along(sized, edge.points):
                hits += len(level_crossings(sized, _LEVEL, edge.points))
        if hits < 2:
            return False
    return True
