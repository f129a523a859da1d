"""Edges that nothing is sewn to and that look as if a seam was forgotten; pieces left alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import combinations

import numpy as np

from propagate.engine.review.finding import Finding
from propagate.engine.review.folds import STRAIGHT_MM, bow_of
from propagate.engine.review.ring import Points, ends_of, meeting
from propagate.engine.review.taken import (
    Array,
    beside,
    free_spans,
    lengths,
    run_lengths,
    run_words,
    sewn_together,
)
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Span
from propagate.values import dataclass

__all__ = ["forgotten_seams", "lone_pieces"]

FITS_MM = 0.5
NOTCH_MM = 1.5
GRADED_MM = 2.0
"""A length that changes less over the sizes proves no partner."""
LEAST_MM = 40.0
ANGLE_DEG = 2.0
EXTENSION_MM = 120.0
"""A band may be longer than its run by an extension."""


@dataclass(frozen=True)
class _Free:
    span: Span
    lengths: Array
    notches: Array


def forgotten_seams(pattern: PatternSet) -> Iterator[Finding]:
    """Find two edges sewn to nothing that fit each other, and nothing else, in every size."""
    free = _find_free(pattern)
    alike = [(a, b) for a, b in combinations(free, 2) if _are_like(a, b)]
    if not alike:
        return
    points = meeting(pattern)
    pairs = [(a, b) for a, b in alike if _edges_fit(pattern, points, a, b)]
    for a, b in pairs:
        if sum(a in pair or b in pair for pair in pairs) > 1:
            continue
        yield Finding(
            "seam left out",
            f"'{a.span.key}' and '{b.span.key}'",
            "found that nothing is sewn to either, and that they are of one length in every "
            f"size ({_write_range(a.lengths)}){_notch_words(a, b)}; expected edges that fit so "
            "well to be sewn to each other. Probably a seam was left out: add it ('propagate "
            f"suggest' proposes it with its direction); {_what_lacks(pattern, a.span, b.span)}",
            (a.span.piece, b.span.piece),
        )


def _what_lacks(pattern: PatternSet, a: Span, b: Span) -> str:
    """What a set goes without as long as the seam is not in it."""
    if any(one.piece in pattern.relations.derived for one in (a, b)):
        return (
            "nothing is walked between the two now, though what is derived follows its main piece"
        )
    return "a change of the one does not reach the other now"


def _find_free(pattern: PatternSet) -> list[_Free]:
    """Whole edges that a seam could be missing on: no hems, no ends and far sides of bands."""
    strips = {band.piece for band in pattern.relations.bands.values()}
    found = []
    for piece, spans in free_spans(pattern).items():
        info = pattern.info[piece]
        for span in spans:
            whole = (span.begin, span.end) == ("start", "end")
            if piece in strips or not whole or span.edge in info.allowance.turned:
                continue
            size = lengths(pattern, span)
            if size.min() >= LEAST_MM:
                found.append(_Free(span, size, _place_notches(pattern, span)))
    return found


def _place_notches(pattern: PatternSet, span: Span) -> Array:
    """(notches,) places of the notches of an edge in the base size, mm."""
    piece = pattern.sized(span.piece, pattern.base)
    marks = [mark for mark in piece.landmarks_on(span.edge) if mark.kind == "notch"]
    return np.sort([piece.distance(span.edge, mark.name) for mark in marks])


def _are_like(a: _Free, b: _Free) -> bool:
    differ = float(np.abs(a.lengths - b.lengths).max())
    return a.span.piece != b.span.piece and differ <= FITS_MM


def _edges_fit(pattern: PatternSet, points: Points, a: _Free, b: _Free) -> bool:
    ours, theirs = pattern.info[a.span.piece], pattern.info[b.span.piece]
    if a.span.edge == b.span.edge and pattern.relations.are_copies({a.span.piece, b.span.piece}):
        return False  # copies are of one length everywhere
    if ours.allowance.of(a.span.edge) != theirs.allowance.of(b.span.edge):
        return False
    meet = _notches_meet(pattern, a, b)
    if meet is False or (not meet and ours.fabric != theirs.fabric):
        return False
    plain = (
        float(np.ptp(a.lengths)) < GRADED_MM
        or _are_centres(pattern, a, b)
        or _are_twins(pattern, a.span.piece, b.span.piece)
    )
    if not meet and plain and not _between_two_corners(pattern, points, a.span, b.span):
        return False
    return meet is True or not _runs_on(pattern, a.span, b.span)


def _between_two_corners(pattern: PatternSet, points: Points, a: Span, b: Span) -> bool:
    """Whether two edges run between the same two corners when all else is sewn: a hole."""
    ours, theirs = ends_of(pattern, (a,)), ends_of(pattern, (b,))
    return any(
        all(points.same(one, other) for one, other in zip(ours, way, strict=True))
        for way in (theirs, theirs[::-1])
    )


def _notches_meet(pattern: PatternSet, a: _Free, b: _Free) -> bool | None:
    """Whether the notches of two edges are at the same places, from either end; None: none."""
    if not len(a.notches) and not len(b.notches):
        return None
    if len(a.notches) != len(b.notches):
        return False
    whole = float(b.lengths[pattern.sizes.index(pattern.base)])
    ways = (b.notches, np.sort(whole - b.notches))
    return any(float(np.abs(a.notches - way).max()) <= NOTCH_MM for way in ways)


def _are_twins(pattern: PatternSet, first: str, second: str) -> bool:
    """Whether two pieces are alike all round, so that equal edges of theirs prove nothing."""
    edges = [
        np.sort([edge.length for edge in pattern.sized(name, pattern.base).edges])
        for name in (first, second)
    ]
    return len(edges[0]) == len(edges[1]) and bool(np.abs(edges[0] - edges[1]).max() <= FITS_MM)


def _are_centres(pattern: PatternSet, a: _Free, b: _Free) -> bool:
    """Whether two edges are straight and along the grain, as centres and folds are."""
    for one in (a, b):
        piece = pattern.sized(one.span.piece, pattern.base)
        points = piece.edge(one.span.edge).points
        along = points[-1] - points[0]
        off = abs(float(along @ (piece.grain.direction[::-1] * (-1.0, 1.0))))
        if bow_of(points) > STRAIGHT_MM or off > np.tan(np.radians(ANGLE_DEG)) * np.hypot(*along):
            return False
    return True


def _runs_on(pattern: PatternSet, a: Span, b: Span) -> bool:
    """Whether two edges run on into each other across a seam, as the hems of two pieces do."""
    return any(
        sewn_together(pattern, ours, theirs)
        for ours in beside(pattern, a)
        for theirs in beside(pattern, b)
    )


def _write_range(values: Array) -> str:
    low, high = float(values.min()), float(values.max())
    return f"{low:.1f} mm" if high - low < 0.05 else f"{low:.1f} to {high:.1f} mm"


def _notch_words(a: _Free, b: _Free) -> str:
    return ", with notches at the same places" if len(a.notches) and len(b.notches) else ""


# ------------------------------------------------------------------------------ lone pieces


def lone_pieces(pattern: PatternSet) -> Iterator[Finding]:
    """Find pieces that no relation names though one of their edges fits what is not sewn."""
    alone = _find_alone(pattern)
    if not alone:
        return
    open_rounds = _open_rounds(pattern)
    free = {f"'{one.span.key}'": one.lengths for one in _find_free(pattern)}
    for name in alone:
        fitting = _find_fitting(pattern, name, open_rounds, free)
        if fitting is None:
            continue
        edge, what = fitting
        yield Finding(
            "piece joined to nothing",
            f"piece '{name}'",
            f"found no seam, band, stack, assembly, place or girth that names it, so that nothing "
            f"is sewn to it and it follows no change; but '{name}.{edge}' grows from size to size "
            f"just as {what}, which nothing is sewn to either; expected the two joined. Probably "
            "a seam or a band was left out: add it ('propagate suggest' proposes some)",
            (name,),
        )


def _find_alone(pattern: PatternSet) -> list[str]:
    relations = pattern.relations
    named = {
        *(s.piece for seam in relations.seams.values() for s in (*seam.lead, *seam.follow)),
        *(band.piece for band in relations.bands.values()),
        *(s.piece for band in relations.bands.values() for z in band.zones for s in z.run),
        *(layer.piece for stack in relations.stacks.values() for layer in stack.layers),
        *(opening.piece for opening in relations.openings.values()),
        *relations.parts_of,
        *(place.piece for place in relations.places.values()),
        *relations.derived,
        *(s.piece for girth in relations.girths.values() for run in girth.runs for s in run),
        *(name for girth in relations.girths.values() for name in girth.silhouettes),
    }
    return [name for name in pattern.pieces if name not in named]


def _open_rounds(pattern: PatternSet) -> dict[str, Array]:
    """Girths by runs of which nothing is sewn to any part: whole and half, in every size."""
    spans_ = free_spans(pattern, ("seam", "band")).values()
    free = {span for spans in spans_ for span in spans}
    bare = {(span.key, frozenset((span.begin, span.end))) for span in free}
    keys = {span.key for span in free}
    found = {}
    for girth in pattern.relations.girths.values():
        spans: Run = tuple(span for run in girth.runs for span in run)
        if spans and all(
            (s.key, frozenset((s.begin, s.end))) in bare or s.key in keys for s in spans
        ):
            words = f"the round of girth '{girth.name}' ({run_words(spans)})"
            half = run_lengths(pattern, spans)
            found[words] = half * girth.times
            found[f"half of {words}"] = half
    return found


def _find_fitting(
    pattern: PatternSet, name: str, open_rounds: Mapping[str, Array], free: Mapping[str, Array]
) -> tuple[str, str] | None:
    for edge in pattern.sized(name, pattern.base).edge_names:
        size = lengths(pattern, Span(name, edge))
        if size.min() < LEAST_MM or float(np.ptp(size)) < GRADED_MM:
            continue
        for what, whole in open_rounds.items():
            extra = size - whole
            if float(np.ptp(extra)) <= FITS_MM and -FITS_MM <= extra.min() <= EXTENSION_MM:
                return edge, what
        for what, other in free.items():
            if not what.startswith(f"'{name}.") and np.abs(size - other).max() <= FITS_MM:
                return edge, what
    return None
