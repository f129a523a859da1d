"""Give a follower the displacement that its lead got: the same added to both sides.

What a hand does when one side of a seam is let out: the same width is added to the other
side, place by place.  The lead's displacement is taken in the frame of the seam (along it,
and outward from the piece) at every share of the way from the hold to the free end, and
put on the follower in its own frame.  At the hold it begins with nothing: what the lead
has there in value and slope is faded out.  The length is corrected afterwards.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.engine.darts.changes import dart_changes
from propagate.engine.levels import level_crossings
from propagate.engine.marks_on_lines import End, follow_line
from propagate.engine.relations.ends import with_corners
from propagate.engine.reshape import rounded
from propagate.engine.state import State
from propagate.engine.tape import edge_from_parts
from propagate.geometry.densify import densify_smoothly
from propagate.geometry.fade import smoothstep
from propagate.geometry.motion import IDENTITY
from propagate.geometry.polyline import arc_lengths, join, locate_all
from propagate.pattern.model import Array, SizedPiece
from propagate.pattern.relations import Seam, Span
from propagate.pattern.spans import span_ends, span_points
from propagate.tolerances import FADE_MM, RESTS_MM, STEP_MM, TANGENT_WINDOW_MM
from propagate.values import dataclass

__all__ = ["Shaped", "take_shape"]

Complex = npt.NDArray[np.complex128]


@dataclass(frozen=True)
class Shaped:
    """What a follower should look like.

    Attributes
    ----------
    span : Span
    wanted : (n, 2) array, mm
        The line that has all of the lead's displacement, from the hold to the free end.
    beyond_mm : float
        Largest displacement of the lead beyond the hold, where the follower may not change.
    """

    span: Span
    wanted: Array
    beyond_mm: float


@dataclass(frozen=True)
class _Side:
    """One side of a seam as a line that runs to the free end.

    `outward` is +1 when the outside of the piece lies to the right of the line.
    """

    points: Array
    hold: float
    outward: float


def _hold_distance(seam: Seam, piece: SizedPiece, points: Array) -> float:
    """Distance along a span, measured to its free last point, up to which it is held."""
    if seam.hold is None or seam.hold not in piece.levels:
        return 0.0
    hits = level_crossings(piece, seam.hold, points)
    return float(hits[-1]) if len(hits) else 0.0


def take_shape(state: State, seam: Seam, free: tuple[Span, End]) -> Shaped | None:
    """Reshape the follower at its free end as the lead was; None when nothing is to do.

    Runs of which one crosses a dart keep to their lengths: the two lines do not lie along
    each other there.  So do those of a piece on which a dart came, went or was swung: a part of
    it was turned, and no line of it was drawn anew.
    """
    span, end = free
    piece = state.lookup(span.piece)
    has_dart = any(
        dart.edge == one.edge
        for one in (*seam.lead, *seam.follow)
        for dart in state.lookup(one.piece).darts
    )
    was_turned = any(
        change.what != "changed"
        for name in {one.piece for one in seam.lead}
        for change in dart_changes(state.source(name), state.lookup(name))
    )
    sides = _lead_sides(state, seam, end)
    if sides is None or has_dart or was_turned:
        return None
    before, after = sides
    edge = piece.edge(span.edge)
    begin, finish = span_ends(piece, span)
    if {begin, finish} != {0.0, edge.length}:
        return None  # a part of an edge is matched in length alone
    at_start = (begin < finish) == (end == "start")
    points = densify_smoothly(edge.points[::-1] if at_start else edge.points, STEP_MM)
    own = _Side(points, _hold_distance(seam, piece, points), -1.0 if at_start else 1.0)
    arc = arc_lengths(points)
    way = arc - own.hold
    share = np.clip(way / way[-1], 0.0, 1.0)
    field = _measure_field(before, after, share)
    if np.abs(field).max() <= RESTS_MM:
        return None
    frame = _take_frame(points, arc)
    turned = (field.real - 1j * own.outward * field.imag) * frame
    wanted = points + np.column_stack([turned.real, turned.imag])
    applied = np.where(way > 0, turned - _at_hold(turned, way), 0.0) if own.hold > 0 else turned
    moved = points + np.column_stack([applied.real, applied.imag])
    held = (way <= 0) if own.hold > 0 else np.zeros(len(points), dtype=bool)
    moved = np.where(held[:, None], points, rounded(moved))
    fresh = edge_from_parts(edge.name, [moved[::-1] if at_start else moved], edge.turn_points)
    source = state.pattern.sized(span.piece, state.size_of(span.piece))
    new = with_corners(piece, edge, fresh, source)
    marks = tuple(follow_line(new, piece, mark) for mark in new.landmarks)
    state.pieces[span.piece] = replace(new, landmarks=marks)
    beyond = before.points[arc_lengths(before.points) < before.hold]
    gaps = locate_all(after.points, beyond)[1] if before.hold > 0 else np.zeros(1)
    return Shaped(span, wanted[~held], float(gaps.max(initial=0.0)))


def _lead_sides(state: State, seam: Seam, end: End) -> tuple[_Side, _Side] | None:
    """The lead's run before and after, towards the end that is free; None when not one line."""
    pattern, size = state.pattern, state.job.size
    owners = {pattern.relations.parts_of.get(span.piece, span.piece) for span in seam.lead}
    if len(owners) != 1:
        return None
    edited = state.edited.get(owners.pop())
    if edited is not None and "revised" not in edited.sources:
        edited = None  # it was matched itself: its pieces know better
    if edited is None and len({span.piece for span in seam.lead}) > 1:
        return None
    lines = []
    for late in (False, True):
        parts = []
        for span in seam.lead:
            motion = IDENTITY
            if edited is None:
                piece = state.lookup(span.piece) if late else pattern.sized(span.piece, size)
            else:
                silhouette = edited.sources["revised"].silhouette if late else edited.base
                piece, motion = silhouette.sized[span.piece], silhouette.motions[span.piece]
            parts.append(motion.apply(span_points(piece, span)))
        whole = join(parts)
        lines.append(whole[::-1] if end == "start" else whole)
    lead = pattern.sized(seam.lead[0].piece, size) if edited is None else edited.base.base
    first = seam.lead[0]
    begin, finish = span_ends(pattern.sized(first.piece, size), first)
    forward = begin < finish
    if edited is not None and edited.base.motions[first.piece].face_down:
        forward = not forward
    outward = 1.0 if forward == (end == "end") else -1.0
    before, after = (_Side(line, _hold_distance(seam, lead, line), outward) for line in lines)
    return before, after


def _take_frame(points: Array, at: Array) -> Complex:
    """Unit directions along a line, as complex numbers, even across its corners."""
    arc = arc_lengths(points)
    ends = [np.clip(at + way, 0.0, arc[-1]) for way in (-TANGENT_WINDOW_MM, TANGENT_WINDOW_MM)]
    a, b = (_interpolate_on(points, arc, places) for places in ends)
    return np.asarray((b - a) / np.maximum(np.abs(b - a), 1e-12))


def _interpolate_on(points: Array, arc: Array, at: Array) -> Complex:
    return np.asarray(np.interp(at, arc, points[:, 0]) + 1j * np.interp(at, arc, points[:, 1]))


def _measure_field(before: _Side, after: _Side, share: Array) -> Complex:
    """The lead's displacement: real along the seam, imaginary outward from the piece."""
    places = []
    for side in (before, after):
        arc = arc_lengths(side.points)
        places.append((side.points, arc, side.hold + share * (arc[-1] - side.hold)))
    (old, old_arc, old_at), (new, new_arc, new_at) = places
    moved = _interpolate_on(new, new_arc, new_at) - _interpolate_on(old, old_arc, old_at)
    own = moved * np.conj(_take_frame(old, old_at))
    return np.asarray(own.real - 1j * before.outward * own.imag)


def _at_hold(turned: Complex, way: Array) -> Complex:
    """What the displacement has at the hold in value and slope, faded out from there."""
    over = min(FADE_MM, float(way[-1]))
    near = np.array([0.0, min(TANGENT_WINDOW_MM, over)])
    first, second = (np.interp(near, way, part) for part in (turned.real, turned.imag))
    value = complex(first[0], second[0])
    slope = (complex(first[1], second[1]) - value) / near[1]
    fade = 1.0 - smoothstep(np.clip(way, 0.0, None) / over)
    return np.asarray((value + slope * np.clip(way, 0.0, None)) * fade)
