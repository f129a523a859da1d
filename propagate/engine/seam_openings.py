"""An opening in a seam, measured: its two sides are as long, and a zip of that length is sold."""

from __future__ import annotations

from propagate.engine.rows import Check
from propagate.engine.walk_checks import Walked, compare_sides
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import SeamOpening, Span
from propagate.pattern.spans import span_ends

__all__ = ["nearest_on_offer", "place_of", "walk_seam_opening"]


def place_of(piece: SizedPiece, span: Span) -> tuple[float, float]:
    """Distance of an opening from the end of its edge that it is counted from, and its length, mm.

    Parameters
    ----------
    piece : SizedPiece
    span : Span
        Written from that end.
    """
    begin, end = span_ends(piece, span)
    if begin <= end:
        return begin, end - begin
    return piece.edge(span.edge).length - begin, begin - end


def nearest_on_offer(opening: SeamOpening, length: float) -> float:
    """The length that can be bought which is nearest; the shorter of two that are as near."""
    return min(opening.lengths, key=lambda one: (abs(one - length), one), default=length)


def walk_seam_opening(on: Walked, opening: SeamOpening) -> list[Check]:
    """Each further side against the first one, and the first against what can be bought."""
    spans = [run[0] for run in opening.sides if run]
    lengths = [place_of(on.piece(span.piece), span)[1] for span in spans]
    rows = [
        ((str(spans[0]), str(span)), lengths[0], length)
        for span, length in zip(spans[1:], lengths[1:], strict=True)
    ]
    if opening.lengths:
        rows.append(((str(spans[0]), ""), nearest_on_offer(opening, lengths[0]), lengths[0]))
    return [
        compare_sides("seam_opening", opening, sides, first, second)
        for sides, first, second in rows
    ]
