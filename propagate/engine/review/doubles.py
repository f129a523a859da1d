"""Edges that are sewn twice over, or to themselves."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from propagate.engine.review.finding import Finding
from propagate.engine.review.taken import pieces_of
from propagate.pattern.ease_on_run import seam_ease
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Span
from propagate.pattern.spans import run_length, span_ends
from propagate.tolerances import WALK_MM

__all__ = ["find_sewn_to_itself", "find_sewn_twice"]

COMMON_MM = 1.0
"""Stretches that have less in common meet at an end only."""


def find_sewn_to_itself(pattern: PatternSet) -> Iterator[Finding]:
    """Find seams of an edge to itself."""
    for seam in pattern.relations.seams.values():
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


def find_sewn_twice(pattern: PatternSet) -> Iterator[Finding]:
    """Find two seams of the same two edges, and an edge that follows two leads."""
    for first, second in combinations(pattern.relations.seams.values(), 2):
        where = f"seams '{first.name}' and '{second.name}'"
        ways = ((second.lead, second.follow), (second.follow, second.lead))
        for lead, follow in ways if first.mirror == second.mirror else ():
            ours = _find_common(pattern, first.lead, lead)
            theirs = ours if first.mirror else _find_common(pattern, first.follow, follow)
            if ours is not None and theirs is not None:
                yield Finding(
                    "sewn twice",
                    where,
                    f"found '{ours.key}' sewn to '{theirs.key}' in both; expected it in one. "
                    "Probably the seam was copied and one of its edges not changed; name the edge "
                    "that was meant, or take one of the two out",
                    pieces_of((ours, theirs)),
                    sews=False,
                )
                break
        else:
            keys = [{span.key for span in seam.follow} for seam in (first, second)]
            plain = not (first.check or second.check or first.mirror or second.mirror)
            both = _find_common(pattern, first.follow, second.follow)
            if not plain or both is None or keys[0] != keys[1]:
                continue
            base = pattern.in_size(pattern.base)
            leads = [
                run_length(base, seam.lead) + seam_ease(base, seam, pattern.base).total
                for seam in (first, second)
            ]
            if abs(leads[0] - leads[1]) > WALK_MM:
                yield Finding(
                    "sewn twice",
                    where,
                    f"found that '{both.key}' follows two leads of different lengths, "
                    f"{leads[0]:.1f} and {leads[1]:.1f} mm in size '{pattern.base}'; expected one "
                    "lead for an edge. Probably one of the two seams names the wrong edge",
                    (both.piece,),
                    sews=False,
                )


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
