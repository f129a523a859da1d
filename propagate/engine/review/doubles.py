"""Edges that are sewn twice over, or to themselves."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from propagate.engine.review.finding import Finding
from propagate.pattern.ease_on_run import seam_ease
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Seam, Span
from propagate.pattern.spans import span_ends, span_length
from propagate.tolerances import WALK_MM

__all__ = ["doubles"]

COMMON_MM = 1.0
"""Stretches that have less in common meet at an end only."""


def doubles(pattern: PatternSet) -> Iterator[Finding]:
    """Find seams of an edge to itself, and two seams of the same two edges."""
    seams = list(pattern.relations.seams.values())
    for seam in seams:
        common = _find_common(pattern, seam.lead, seam.follow)
        if common is not None:
            yield Finding(
                "sewn to itself",
                f"seam '{seam.name}'",
                f"found '{common.key}' on both sides of the seam; expected another edge on one "
                "of them. Probably the mate's name is a slip; or the edge is sewn to its own "
                "mirrored twin: then leave 'follow' out and write mirror = true",
                (common.piece,),
                sews=False,
            )
    for first, second in combinations(seams, 2):
        yield from _find_twice(pattern, first, second)


def _find_twice(pattern: PatternSet, first: Seam, second: Seam) -> Iterator[Finding]:
    where = f"seams '{first.name}' and '{second.name}'"
    for lead, follow in ((second.lead, second.follow), (second.follow, second.lead)):
        if first.mirror != second.mirror:
            continue
        ours = _find_common(pattern, first.lead, lead)
        theirs = ours if first.mirror else _find_common(pattern, first.follow, follow)
        if ours is not None and theirs is not None:
            yield Finding(
                "sewn twice",
                where,
                f"found '{ours.key}' sewn to '{theirs.key}' in both; expected it in one. "
                "Probably the seam was copied and one of its edges not changed; name the edge "
                "that was meant, or take one of the two out",
                tuple(dict.fromkeys((ours.piece, theirs.piece))),
                sews=False,
            )
            return
    if first.check or second.check or first.mirror or second.mirror:
        return
    both = _find_common(pattern, first.follow, second.follow)
    if both is None:
        return
    lengths = [
        sum(span_length(pattern.sized(s.piece, pattern.base), s) for s in seam.lead)
        + seam_ease(pattern.in_size(pattern.base), seam, pattern.base).total
        for seam in (first, second)
    ]
    if abs(lengths[0] - lengths[1]) > WALK_MM and _same_run(first.follow, second.follow):
        yield Finding(
            "sewn twice",
            where,
            f"found that '{both.key}' follows two leads of different lengths, {lengths[0]:.1f} "
            f"and {lengths[1]:.1f} mm in size '{pattern.base}'; expected one lead for an edge. "
            "Probably one of the two seams names the wrong edge",
            (both.piece,),
            sews=False,
        )


def _same_run(first: Run, second: Run) -> bool:
    return {span.key for span in first} == {span.key for span in second}


def _find_common(pattern: PatternSet, first: Run, second: Run) -> Span | None:
    """The first span of a run that has a stretch in common with another run, if any."""
    for ours in first:
        for theirs in second:
            if ours.key != theirs.key:
                continue
            piece = pattern.sized(ours.piece, pattern.base)
            a, b = sorted(span_ends(piece, ours)), sorted(span_ends(piece, theirs))
            if min(a[1], b[1]) - max(a[0], b[0]) > COMMON_MM:
                return ours
    return None
