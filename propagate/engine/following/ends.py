"""Which ends of a follower answer a change: those whose lead's end moved.

The end of a lead that stayed holds the follower's end there.  Where the lead changed
between two ends that stayed, the follower gives at its free edges first.  None of this
asks from which end a run was written.
"""

from __future__ import annotations

from typing import Literal

import numpy as np

from propagate.engine.graph import joined_edges
from propagate.engine.levels import level_crossings
from propagate.engine.state import State
from propagate.geometry.arrays import Array
from propagate.geometry.polyline import between, length, locate_all
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import Seam, Span
from propagate.pattern.spans import span_ends, span_points
from propagate.tolerances import RESTS_MM, SAME_POINT_MM
from propagate.values import dataclass

__all__ = ["Answering", "answering_ends", "hold_on_span", "shape_end"]

End = Literal["start", "end"]


@dataclass(frozen=True)
class Answering:
    """Which ends of a follower's run answer: those whose lead moved, or that may give."""

    start: bool
    end: bool
    lead_moved: bool


def _has_moved(state: State, span: Span, landmark: str) -> bool:
    """Tell whether an end of a span lies elsewhere than in the size its piece was taken from."""
    name = f"{span.edge}.{landmark}" if landmark in ("start", "end") else landmark
    was = state.source(span.piece).landmark(name).point
    now = state.lookup(span.piece).landmark(name).point
    return bool(np.hypot(*np.subtract(now, was)) > RESTS_MM)


def answering_ends(state: State, seam: Seam) -> Answering:
    """Return the ends of a follower that answer what its lead did."""
    first, last = seam.lead[0], seam.lead[-1]
    moved = _has_moved(state, first, first.begin), _has_moved(state, last, last.end)
    if any(moved):
        return Answering(*moved, lead_moved=True)
    side = _changed_side(state, seam)
    if side is not None:
        return Answering(side == "start", side == "end", lead_moved=False)
    free = _on_free_edge(state, seam, "start"), _on_free_edge(state, seam, "end")
    if free[0] == free[1]:
        free = (True, True)
    return Answering(*free, lead_moved=False)


def shape_end(state: State, seam: Seam) -> tuple[Span, End]:
    """Find the end towards which a follower takes its lead's shape, from the hold if any."""
    answer = answering_ends(state, seam)
    return (
        (seam.follow[-1], "end") if answer.end and not answer.start else (seam.follow[0], "start")
    )


def _on_free_edge(state: State, seam: Seam, end: End) -> bool:
    """Tell whether a follower's end is a corner with an edge that nothing is sewn to."""
    span = seam.follow[0] if end == "start" else seam.follow[-1]
    piece = state.lookup(span.piece)
    mark = span.begin if end == "start" else span.end
    along, edge = piece.distance(span.edge, mark), piece.edge(span.edge)
    names = piece.edge_names
    i = names.index(span.edge)
    if along <= SAME_POINT_MM:
        beside = names[i - 1]
    elif along >= edge.length - SAME_POINT_MM:
        beside = names[(i + 1) % len(names)]
    else:
        return False
    return f"{span.piece}.{beside}" not in joined_edges(state.pattern)


def hold_on_span(piece: SizedPiece, span: Span, level: str | None) -> float | None:
    """Find the distance along a span's edge at which a hold crosses it; None where it does not."""
    if level is None or level not in piece.levels:
        return None
    hits = level_crossings(piece, level, piece.edge(span.edge).points)
    begin, end = sorted(span_ends(piece, span))
    inside = [float(h) for h in hits if begin - SAME_POINT_MM <= h <= end + SAME_POINT_MM]
    return inside[-1] if inside else None


def _changed_side(state: State, seam: Seam) -> End | None:
    """Tell on which side of the hold a lead changed whose ends stayed; None without a hold.

    Where it changed on both, the side away from most other levels is free: what a hip
    holds is the leg, and not the way up to the waist.
    """
    most: dict[End, float] = {"start": 0.0, "end": 0.0}
    levels: dict[End, int] = {"start": 0, "end": 0}
    lengths: dict[End, float] = {"start": 0.0, "end": 0.0}
    crossed = False
    for span in seam.lead:
        was = state.source(span.piece)
        now = state.lookup(span.piece)
        at = hold_on_span(was, span, seam.hold)
        if at is None:
            parts: list[tuple[End, Array]] = [
                ("end" if crossed else "start", span_points(was, span))
            ]
        else:
            crossed = True
            begin, end = span_ends(was, span)
            points = was.edge(span.edge).points
            parts = [("start", between(points, begin, at)), ("end", between(points, at, end))]
        for side, line in parts:
            _, gaps = locate_all(now.edge(span.edge).points, line)
            most[side] = max(most[side], float(gaps.max()))
            levels[side] += sum(
                bool(len(level_crossings(was, level, line)))
                for level in was.levels
                if level != seam.hold
            )
            lengths[side] += length(line)
    sides: list[End] = [side for side in most if most[side] > RESTS_MM]
    if not crossed or not sides:
        return None
    return min(sides, key=lambda side: (levels[side], lengths[side]))
