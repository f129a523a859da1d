"""Bring a follower to a length: its free end moves along the seam.

The correction is the smallest one that a hand would make: the end moves in the seam's own
direction and the displacement fades smoothly before the hold.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from propagate.engine.relations.ends import landmark_on, with_corners
from propagate.engine.relations.same_shape import hold_distance
from propagate.engine.reshape import rounded
from propagate.engine.state import State
from propagate.engine.tape import edge_from_parts
from propagate.geometry.fade import fade_end
from propagate.geometry.polyline import between, end_direction, length, unit
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import Seam, Span
from propagate.pattern.spans import run_length
from propagate.tolerances import RESTS_MM, SEAM_LENGTH_MM, STEP_MM

__all__ = ["free_end", "match_length"]

Array = npt.NDArray[np.float64]
End = Literal["start", "end"]

_ROUNDS = 12
_FLAT = 0.2
"""Gain in length per move of an end below which moving it is no cure."""


def match_length(state: State, seam: Seam, wanted: float) -> None:
    """Bring the follower's run to a length; marks that end its spans or darts move with it.

    What the free end cannot give, as on a steep cap that gets much shorter, the other end
    gives, unless the follower is held there.
    """
    span, free = free_end(state, seam)
    other: tuple[Span, End] = (
        (seam.follow[-1], "end") if free == "start" else (seam.follow[0], "start")
    )
    held = seam.hold is not None and seam.hold in state.lookup(span.piece).levels
    held |= _on_fold(state, *other)
    off = wanted - run_length(state.lookup, seam.follow)
    if not held:
        # A sleeve is sewn to two armholes: each half gives what its own armhole changed.
        share = _share_of_other(state, seam, free)
        for (one, end), part in (other, share), ((span, free), 1.0 - share):
            if share > 0.0:
                _lengthen(state, seam, one, end, off * part, half=True)
        off = wanted - run_length(state.lookup, seam.follow)
    for _ in range(_ROUNDS):
        before = off
        _lengthen(state, seam, span, free, off)
        off = wanted - run_length(state.lookup, seam.follow)
        if abs(off) <= SEAM_LENGTH_MM / 10:
            return
        if abs(off) > abs(before) / 4:
            if held:
                break
            (span, free), other = other, (span, free)
    if abs(off) > SEAM_LENGTH_MM:
        state.notice(
            seam.name,
            f"moving its ends along the seam does not bring the follower to {wanted:.1f} mm: it "
            f"stays off by {-off:+.1f} mm; draw the follower anew",
        )


def _lengthen(
    state: State, seam: Seam, span: Span, free: End, gain: float, *, half: bool = False
) -> None:
    if gain != 0.0:
        source = state.pattern.sized(span.piece, state.size_of(span.piece))
        piece = state.lookup(span.piece)
        state.pieces[span.piece] = _lengthened(seam, piece, source, span, free, gain, half=half)


def _share_of_other(state: State, seam: Seam, free: End) -> float:
    """The share of a change that the end which is not the free one answers for.

    Where the lead is of several spans and both its outer ones became longer, or both
    shorter, each end of the follower takes its own side's; else the free end takes all.
    """
    if len(seam.lead) < 2 or seam.lead[0].piece == seam.lead[-1].piece:
        return 0.0

    def source(piece: str) -> SizedPiece:
        return state.pattern.sized(piece, state.size_of(piece))

    first, last = (
        run_length(state.lookup, (span,)) - run_length(source, (span,))
        for span in (seam.lead[0], seam.lead[-1])
    )
    if min(abs(first), abs(last)) <= SEAM_LENGTH_MM or first * last < 0.0:
        return 0.0
    return (last if free == "start" else first) / (first + last)


def free_end(state: State, seam: Seam) -> tuple[Span, End]:
    """The follower's end that answers the end of the lead that moved; the first if both did.

    An end on a fold is held when the other end is not: moved along the seam it would run
    over the fold.
    """
    first, last = seam.lead[0], seam.lead[-1]
    start: tuple[Span, End] = (seam.follow[0], "start")
    end: tuple[Span, End] = (seam.follow[-1], "end")
    folded = _on_fold(state, *start), _on_fold(state, *end)
    if folded[0] != folded[1]:
        return end if folded[0] else start
    if _has_moved(state, last, last.end) and not _has_moved(state, first, first.begin):
        return end
    return start


def _on_fold(state: State, span: Span, end: End) -> bool:
    """Whether an end of a run is the corner of its edge with the piece's fold."""
    info = state.pattern.info.get(span.piece)
    mark = span.begin if end == "start" else span.end
    if info is None or info.fold is None or mark not in ("start", "end"):
        return False
    names = state.lookup(span.piece).edge_names
    beside = names.index(span.edge) + (1 if mark == "end" else -1)
    return names[beside % len(names)] == info.fold


def _has_moved(state: State, span: Span, landmark: str) -> bool:
    """Whether an end of a span lies elsewhere than in the size its piece was taken from."""
    name = f"{span.edge}.{landmark}" if landmark in ("start", "end") else landmark
    was = state.pattern.sized(span.piece, state.size_of(span.piece)).landmark(name).point
    now = state.lookup(span.piece).landmark(name).point
    return bool(np.hypot(*np.subtract(now, was)) > RESTS_MM)


def _reached(points: Array, direction: Array, gain: float) -> Array:
    """Move the last point of a line until the line gains a length, or as nearly as it can.

    The fade bends the curve a little, so the gain in length is not quite the move.  The
    length is convex in the move: where it hardly changes any more, going on leads away.
    """
    wanted = length(points) + gain
    reach, slope = gain, 1.0
    last, best = (0.0, gain), (abs(gain), points)
    for _ in range(_ROUNDS):
        new = fade_end(points, rounded(points[-1] + reach * direction), length(points), STEP_MM)
        miss = wanted - length(new)
        best = min(best, (abs(miss), new), key=lambda found: found[0])
        if abs(miss) < SEAM_LENGTH_MM / 100:
            break
        if abs(miss) > abs(last[1]) / 2:
            slope = (last[1] - miss) / (reach - last[0])
            if slope < _FLAT:
                break
        last = (reach, miss)
        reach += float(np.clip(miss / slope, -abs(gain), abs(gain)))
    return best[1]


def _lengthened(
    seam: Seam,
    piece: SizedPiece,
    source: SizedPiece,
    span: Span,
    free: End,
    gain: float,
    *,
    half: bool = False,
) -> SizedPiece:
    """Move the free end of a span along the seam and fade; its neighbour's end follows.

    With `half` the other half of the edge is held, so that it can give its own part.
    """
    edge = piece.edge(span.edge)
    forward = piece.distance(span.edge, span.begin) < piece.distance(span.edge, span.end)
    at_start = forward == (free == "start")
    points = edge.points[::-1] if at_start else edge.points
    hold = hold_distance(seam, piece, points)
    hold = max(hold, length(points) / 2) if half else hold
    held = between(points, 0.0, hold) if hold > 0 else points[:1]
    points = between(points, hold, length(points))
    direction = unit(end_direction(points, "end"))
    new = _reached(points, direction, gain)
    new = np.vstack([held, rounded(new[1:])])
    fresh = edge_from_parts(
        edge.name, [new[::-1] if at_start else new], edge.points[list(edge.turns)]
    )
    moved = with_corners(piece, edge, fresh, source)
    return replace(moved, landmarks=tuple(landmark_on(moved, piece, m) for m in piece.landmarks))
