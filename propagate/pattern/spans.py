"""Spans and runs on sized pieces: their points and lengths, darts and pleats left out."""

from __future__ import annotations

from collections.abc import Callable

from propagate.geometry.polyline import between
from propagate.pattern.model import Array, SizedPiece
from propagate.pattern.runs import Run, Span

__all__ = [
    "Lookup",
    "dart_mouths",
    "distance_on_run",
    "folded_mouths",
    "run_length",
    "span_ends",
    "span_length",
    "span_points",
    "closed_length",
]

Lookup = Callable[[str], SizedPiece]


def span_ends(piece: SizedPiece, span: Span) -> tuple[float, float]:
    """Distances along the edge at which a span begins and ends, mm."""
    return piece.distance(span.edge, span.begin), piece.distance(span.edge, span.end)


def span_points(piece: SizedPiece, span: Span) -> Array:
    """(n, 2) points of a span in its own direction, mm."""
    edge = piece.edge(span.edge)
    if (span.begin, span.end) == ("start", "end"):
        return edge.points
    if (span.begin, span.end) == ("end", "start"):
        return edge.points[::-1]
    return between(edge.points, *span_ends(piece, span))


def dart_mouths(piece: SizedPiece, edge: str) -> list[tuple[float, float]]:
    """Stretches of an edge between the legs of its darts, as distances, mm."""
    mouths = []
    for dart in piece.darts:
        if dart.edge == edge:
            a, b = (piece.distance(edge, leg) for leg in dart.legs)
            mouths.append((min(a, b), max(a, b)))
    return sorted(mouths)


def folded_mouths(piece: SizedPiece, edge: str) -> list[tuple[float, float]]:
    """Stretches of an edge that are folded away when it is sewn: of darts, pleats and tucks."""
    mouths = dart_mouths(piece, edge)
    pleats = [pleat for pleat in piece.pleats if pleat.edge == edge]
    if not pleats:
        return mouths
    for pleat in pleats:
        at = sorted(piece.distance(edge, mark) for mark in pleat.marks)
        mouths += [(at[first], at[last]) for first, last in pleat.folds]
    found: list[tuple[float, float]] = []
    for low, high in sorted(mouths):
        if found and low < found[-1][1]:  # what lies over another one is taken up once
            found[-1] = (found[-1][0], max(found[-1][1], high))
        else:
            found.append((low, high))
    return found


def closed_length(piece: SizedPiece, edge: str, a: float, b: float) -> float:
    """Length of an edge between two distances with its darts and pleats closed, mm."""
    low, high = min(a, b), max(a, b)
    size = high - low
    for first, last in folded_mouths(piece, edge):
        size -= max(min(last, high) - max(first, low), 0.0)
    return size


def span_length(piece: SizedPiece, span: Span) -> float:
    """Length of a span with darts and pleats closed, mm."""
    return closed_length(piece, span.edge, *span_ends(piece, span))


def run_length(lookup: Lookup, run: Run) -> float:
    """Length of a run with darts and pleats closed, mm."""
    return sum(span_length(lookup(span.piece), span) for span in run)


def distance_on_run(lookup: Lookup, run: Run, piece: str, landmark: str) -> float | None:
    """Distance of a landmark from the start of a run, darts closed; None if not on it.

    A mark past the end of its span, where the run goes on with another piece, lies on that
    piece's edge when sewn (a facing goes on below the opening, under the front): it is
    measured there, and so never leaves its run because the opening moved.
    """
    done, past = 0.0, None
    for index, span in enumerate(run):
        sized = lookup(span.piece)
        if span.piece == piece and sized.landmark(landmark).edge == span.edge:
            begin, end = span_ends(sized, span)
            place = sized.distance(span.edge, landmark)
            if min(begin, end) - 1e-6 <= place <= max(begin, end) + 1e-6:
                return done + closed_length(sized, span.edge, begin, place)
            onwards = (place - end) * (end - begin) > 0
            if onwards and index + 1 < len(run):
                past = done + closed_length(sized, span.edge, begin, place)
            elif not onwards and index > 0:
                past = done - closed_length(sized, span.edge, place, begin)
        done += span_length(sized, span)
    return past if past is not None and 0.0 <= past <= done else None
