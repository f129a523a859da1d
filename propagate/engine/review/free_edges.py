"""Edges that nothing is sewn to and that look as if a seam was forgotten; pieces left alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import combinations

import numpy as np

from propagate.engine.review.finding import Finding
from propagate.engine.review.folds import STRAIGHT_MM, measure_bow
from propagate.engine.review.ring import Points, ends_of, list_meeting
from propagate.engine.review.taken import (
    Array,
    edges_beside,
    free_spans,
    run_lengths,
    say_run,
    sewn_together,
    span_lengths,
)
from propagate.pattern.kinds import KINDS, relations_of
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Span
from propagate.values import dataclass

__all__ = ["find_forgotten_seams", "find_lone_pieces"]

FITS_MM = 0.5
NOTCH_MM = 1.5
GRADED_MM = 2.0
"""A length that changes less over the sizes proves no partner."""
LEAST_MM = 40.0
ANGLE_DEG = 2.0
EXTENSION_MM = 120.0
"""A band may be longer than its run by an extension."""


@dataclass(frozen=True, eq=False)
class _Free:
    """A whole edge that nothing is sewn to.

    Its lengths in every size, and the places of its notches in the base size, mm.
    """

    span: Span
    lengths: Array
    notches: Array


def find_forgotten_seams(pattern: PatternSet) -> Iterator[Finding]:
    """Find two edges sewn to nothing that fit each other, and nothing else, in every size.

    A set of which nothing is joined yet has forgotten none.
    """
    if not _is_joined(pattern):
        return
    alike = [
        (a, b)
        for a, b in combinations(_find_free(pattern), 2)
        if a.span.piece != b.span.piece and np.abs(a.lengths - b.lengths).max() <= FITS_MM
    ]
    if not alike:
        return
    points = list_meeting(pattern)
    pairs = [(a, b) for a, b in alike if _edges_fit(pattern, points, a, b)]
    for a, b in pairs:
        if sum(a in pair or b in pair for pair in pairs) > 1:
            continue
        low, high = float(a.lengths.min()), float(a.lengths.max())
        long = f"{low:.1f} mm" if high - low < 0.05 else f"{low:.1f} to {high:.1f} mm"
        notched = len(a.notches) and len(b.notches)
        lacks = "a change of the one does not reach the other now"
        if {a.span.piece, b.span.piece} & pattern.relations.derived.keys():
            lacks = (
                "nothing is walked between the two now, though what is derived follows its main "
                "piece"
            )
        yield Finding(
            "seam left out",
            f"'{a.span.key}' and '{b.span.key}'",
            "found that nothing is sewn to either, and that they are of one length in every "
            f"size ({long}){', with notches at the same places' if notched else ''}; expected "
            "edges that fit so well to be sewn to each other. Probably a seam was left out: add it "
            f"('propagate suggest' proposes it with its direction); {lacks}",
            (a.span.piece, b.span.piece),
        )


def _find_free(pattern: PatternSet) -> list[_Free]:
    """Whole edges that a seam could be missing on: no hems, no ends and far sides of bands."""
    strips = {band.piece for band in pattern.relations.bands.values()}
    found = []
    for name, spans in free_spans(pattern).items():
        piece, turned = pattern.sized(name, pattern.base), pattern.info[name].allowance.turned
        for span in spans:
            whole = (span.begin, span.end) == ("start", "end")
            if name in strips or not whole or span.edge in turned:
                continue
            lengths = span_lengths(pattern, span)
            if lengths.min() >= LEAST_MM:
                marks = [mark for mark in piece.landmarks_on(span.edge) if mark.kind == "notch"]
                places = np.sort([piece.distance(span.edge, mark.name) for mark in marks])
                found.append(_Free(span, lengths, places))
    return found


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
        or (_is_centre(pattern, a.span) and _is_centre(pattern, b.span))
        or _are_twins(pattern, a.span.piece, b.span.piece)
    )
    if not meet and plain:
        # Only a hole tells: between the same two corners when all else is sewn.
        first, last = ends_of(pattern, (a.span,))
        other, end = ends_of(pattern, (b.span,))
        along = points.same(first, other) and points.same(last, end)
        if not along and not (points.same(first, end) and points.same(last, other)):
            return False
    # Edges that run on into each other across a seam, as the hems of two pieces do, are free.
    return meet is True or not any(
        sewn_together(pattern, beside, other)
        for beside in edges_beside(pattern, a.span)
        for other in edges_beside(pattern, b.span)
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
    a, b = (
        np.sort([edge.length for edge in pattern.sized(name, pattern.base).edges])
        for name in (first, second)
    )
    return len(a) == len(b) and bool(np.abs(a - b).max() <= FITS_MM)


def _is_centre(pattern: PatternSet, span: Span) -> bool:
    """Whether an edge is straight and along the grain, as centres and folds are."""
    piece = pattern.sized(span.piece, pattern.base)
    points = piece.edge(span.edge).points
    along = points[-1] - points[0]
    off = abs(float(along @ (piece.grain.direction[::-1] * (-1.0, 1.0))))
    most = float(np.tan(np.radians(ANGLE_DEG)) * np.hypot(*along))
    return measure_bow(points) <= STRAIGHT_MM and off <= most


# ------------------------------------------------------------------------------ lone pieces


def _is_joined(pattern: PatternSet) -> bool:
    """Tell whether the set says anything of how its pieces belong together."""
    return any(relations_of(pattern.relations, key) for key in KINDS)


def find_lone_pieces(pattern: PatternSet) -> Iterator[Finding]:
    """Find pieces that no relation names though one of their edges fits what is not sewn.

    A set of which nothing is joined yet has forgotten none.
    """
    if not _is_joined(pattern):
        return
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
    alone = [name for name in pattern.pieces if name not in named]
    if not alone:
        return
    bare = {s.key for spans in free_spans(pattern, ("seam", "band")).values() for s in spans}
    # Girths by runs of which nothing is sewn to any part: whole and half, in every size.
    open_rounds: dict[str, Array] = {}
    for girth in pattern.relations.girths.values():
        round_: Run = tuple(span for run in girth.runs for span in run)
        if round_ and all(span.key in bare for span in round_):
            words = f"the round of girth '{girth.name}' ({say_run(round_)})"
            half = run_lengths(pattern, round_)
            open_rounds[words] = half * girth.times
            open_rounds[f"half of {words}"] = half
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


def _find_fitting(
    pattern: PatternSet, name: str, open_rounds: Mapping[str, Array], free: Mapping[str, Array]
) -> tuple[str, str] | None:
    for edge in pattern.sized(name, pattern.base).edge_names:
        size = span_lengths(pattern, Span(name, edge))
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
