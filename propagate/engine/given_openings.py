"""Openings of pieces that are given whole: where they lie, and what lies beyond them.

A front that is cut away for a pocket ends at the opening.  The corner beyond it belongs to
the facing.  Where only the front was given and both ends of its opening lie on the old
outline, that outline did not move: the facing is seated anew behind the opening and cut
from it.  Else the corner goes along with the opening.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.engine.marks_on_lines import nearest_place, put_mark
from propagate.engine.relations.given_layer import (
    given_layer,
    layer_edges,
    measure_given,
    put_motion,
)
from propagate.engine.relations.opening import tell_outside
from propagate.engine.relations.seat import Seat
from propagate.engine.relations.stack import recut_layer
from propagate.engine.reshape import Edited, Source, Stretch, rounded, start_edit
from propagate.engine.state import LaidOpening, Split, State
from propagate.engine.tape import Silhouette, edge_from_parts, tape
from propagate.errors import Conflict
from propagate.geometry.fade import fade_end
from propagate.geometry.motion import IDENTITY, Motion, fit, from_two_points
from propagate.geometry.polyline import between, length, locate
from propagate.pattern.model import Edge, SizedPiece
from propagate.pattern.relations import Opening, Stack, StackLayer
from propagate.tolerances import FADE_MM, ON_LINE_MM, OPENING_LENGTH_MM, RESTS_MM, STEP_MM, WALK_MM

__all__ = ["lay_given", "look_at_layers", "parts_to_tape", "refuse_other_mouth"]

Array = npt.NDArray[np.float64]


def parts_to_tape(state: State) -> dict[str, SizedPiece]:
    """Parts beyond given openings, as they have to be taped to the given pieces.

    A part that was not given is seated behind the opening; one that was given beside it,
    and is off by no more than the opening allows, has its landmarks slid to the ends.
    """
    found: dict[str, SizedPiece] = {}
    for opening in state.pattern.relations.openings.values():
        if opening.piece not in state.given.pieces:
            continue
        for layer in _list_parts(state, opening):
            if layer.piece in state.given.pieces:
                part = _slide_part(state, opening, layer)
            else:
                part = _seat_part(state, opening, layer)
            if part is not None:
                found[layer.piece] = part
    return found


def refuse_other_mouth(state: State, sized: Mapping[str, SizedPiece]) -> None:
    """Refuse a revised part that has the ends of its opening elsewhere than its main piece.

    Parameters
    ----------
    sized : mapping of name to SizedPiece
        The given pieces, and parts seated to them.

    Raises
    ------
    Conflict
        It names what to send: a layer never changes its opening, the main piece does.
    """
    size = state.job.size
    for opening in state.pattern.relations.openings.values():
        main = sized.get(opening.piece) or state.pattern.sized(opening.piece, size)
        for layer in _list_parts(state, opening):
            part = state.given.pieces.get(layer.piece)
            if part is None:
                continue
            _, residual = put_motion(layer, sized[layer.piece], main)
            if residual > WALK_MM:
                raise _make_conflict(state, opening, layer, main)


def _make_conflict(state: State, opening: Opening, layer: StackLayer, main: SizedPiece) -> Conflict:
    part = state.given.pieces[layer.piece]
    own, theirs = (
        float(np.hypot(*np.subtract(piece.landmark(a).point, piece.landmark(b).point)))
        for piece, (a, b) in zip((part, main), zip(*layer.put[:2], strict=True), strict=True)
    )
    sent = opening.piece in state.given.pieces
    said = (
        f"and the revised '{opening.piece}' {theirs:.1f} mm; correct one of them, or send "
        f"'{opening.piece}' alone and the layer follows it"
        if sent
        else f"but '{opening.piece}', which leads, has them {theirs:.1f} mm apart and was not "
        f"sent; a layer does not change its opening: send '{opening.piece}' with it"
    )
    return Conflict(
        f"set '{state.pattern.name}', size '{state.job.name}': the revised '{layer.piece}' has "
        f"the ends of opening '{opening.name}' {own:.1f} mm apart, {said}",
        causes=(
            f"'{layer.piece}' was revised and has an opening of {own:.1f} mm",
            f"'{opening.piece}' has an opening of {theirs:.1f} mm",
        ),
        distance_mm=abs(own - theirs),
    )


def lay_given(state: State, opening: Opening) -> None:
    """The opening lies where the piece as it stands has it; the layers follow rigidly."""
    old = state.pattern.sized(opening.piece, state.job.size)
    new = state.lookup(opening.piece)
    was, now = old.edge(opening.edge).length, new.edge(opening.edge).length
    meant = opening.name in state.given.openings
    if abs(now - was) > OPENING_LENGTH_MM and not meant:
        state.notice(
            opening.name,
            f"the revised '{opening.piece}' changes the opening from {was:.1f} to {now:.1f} mm, "
            "and the mouths of its layers with it",
            "look whether that is meant, else draw it as long as it was",
            about=("opening changed", opening.piece),
        )
    if not meant:
        _look_at_the_corner(state, opening, old, new)
    edited = state.silhouette(opening.silhouette)
    laid = _lay_opening(state, opening, edited)
    state.openings[opening.name] = laid
    if opening.piece in state.given.pieces:
        tell_outside(state, opening, edited, laid.points)


def _list_parts(state: State, opening: Opening) -> list[StackLayer]:
    """Layers of an opening that are parts of its assembly."""
    relations = state.pattern.relations
    assembly = relations.assemblies.get(opening.silhouette)
    names = {part.piece for part in assembly.parts} if assembly is not None else set()
    return [
        layer
        for stack in relations.stacks.values()
        if stack.opening == opening.name
        for layer in stack.layers
        if layer.piece in names
    ]


def _find_ends(opening: Opening, piece: SizedPiece) -> Array:
    """The two ends of the opening, (2, 2): across, then side."""
    points = piece.edge(opening.edge).points
    return np.array(
        [points[0 if end == "start" else -1] for end in (opening.across_end, opening.side_end)]
    )


def _carry_ends(before: Array, after: Array) -> Motion:
    """The rigid motion of an opening; a line that grew keeps the end that moved less."""
    if (before == after).all():
        return IDENTITY
    motion, residual = fit(before, after)
    if residual <= ON_LINE_MM:
        return motion
    moves = np.hypot(*(after - before).T)
    order = [0, 1] if moves[0] <= moves[1] else [1, 0]
    return from_two_points(before[order], after[order])


def _lay_opening(state: State, opening: Opening, edited: Edited) -> LaidOpening:
    """Where the piece as it stands has its opening, on a silhouette."""
    old = state.pattern.sized(opening.piece, state.job.size)
    new = state.lookup(opening.piece)
    before, after = _find_ends(opening, old), _find_ends(opening, new)
    motion = _carry_ends(before, after)
    splits = [
        Split(locate(edited.edge(edge).points, point)[0], point)
        for edge, point in zip((opening.across, opening.side), after, strict=True)
    ]
    return LaidOpening(
        motion=motion,
        source=tape(state.pattern, opening.silhouette, state.job.size),
        points=new.edge(opening.edge).points,
        across=splits[0],
        side=splits[1],
        swing_deg=float(np.degrees(motion.angle)),
        moved_mm=float(np.hypot(*(after[1] - before[1]))),
        slid_mm=0.0,
    )


def _on_old_outline(state: State, opening: Opening) -> bool:
    """Whether both ends of a given opening lie on the outline as it was."""
    base = tape(state.pattern, opening.silhouette, state.job.size)
    ends = _find_ends(opening, state.lookup(opening.piece))
    return all(
        locate(base.edge(edge).points, end)[1] <= state.given.agree_mm
        for edge, end in zip((opening.across, opening.side), ends, strict=True)
    )


def _seat_part(state: State, opening: Opening, layer: StackLayer) -> SizedPiece | None:
    """A part that was not given, seated behind the given opening; None when it fits as it is."""
    old = state.pattern.sized(opening.piece, state.job.size)
    before, after = (_find_ends(opening, one) for one in (old, state.lookup(opening.piece)))
    if np.hypot(*(after - before).T).max() <= RESTS_MM:
        return None
    piece = state.pattern.sized(layer.piece, state.job.size)
    place, _ = put_motion(layer, piece, old)
    motion = IDENTITY
    if not _on_old_outline(state, opening):
        if fit(before, after)[1] <= ON_LINE_MM:
            return None  # the corner goes along with the opening as it is
        motion = _carry_ends(before, after)
    edited = _draw_beyond(state, opening, layer.piece, motion)
    laid = _lay_opening(state, opening, edited)
    seat = Seat(layer, piece, opening, laid, edited, place, laid.motion.after(place))
    return recut_layer(replace(state, changes={}, notices=[], passed={}, stretches={}), seat, "")


def _draw_beyond(state: State, opening: Opening, part: str, motion: Motion) -> Edited:
    """The silhouette with the given piece in it, and beyond its opening the old outline moved."""
    size = state.job.size
    base = tape(state.pattern, opening.silhouette, size)
    new = state.lookup(opening.piece)
    edges = []
    for name, end in zip((opening.across, opening.side), _find_ends(opening, new), strict=True):
        pieces = [segment.span.piece for segment in base.segments[name]]
        mine = base.segments[name][pieces.index(opening.piece)].span.edge
        part_first = pieces.index(part) < pieces.index(opening.piece)
        edges.append(_splice_edge(base, name, motion, end, new.edge(mine), part_first))
    stretches = {
        edge.name: (Stretch("revised", (0.0, edge.length), (0.0, base.edge(edge.name).length)),)
        for edge in edges
    }
    return start_edit(base, size).with_edges(
        edges, stretches, {"revised": Source(base, size)}, None
    )


def _splice_edge(
    base: Silhouette, name: str, motion: Motion, end: Array, own: Edge, part_first: bool
) -> Edge:
    """A silhouette edge: beyond the opening's end the old one, moved; before it the given edge."""
    old = base.edge(name).points
    if motion is not IDENTITY:
        old = rounded(motion.apply(old))
    along, gap = locate(old, end)
    rest = between(old, 0.0, along) if part_first else between(old[::-1], 0.0, length(old) - along)
    if gap > RESTS_MM:
        over = min(FADE_MM, length(rest) / 2)
        rest = rounded(fade_end(rest, end, over, STEP_MM))
    rest = np.vstack([rest[:-1], end])
    flip = np.hypot(*(own.points[0] - end)) > np.hypot(*(own.points[-1] - end))
    mine = own.points[::-1] if flip else own.points
    points = np.vstack([rest, mine[1:]])
    return edge_from_parts(name, [points if part_first else points[::-1]])


def _slide_part(state: State, opening: Opening, layer: StackLayer) -> SizedPiece | None:
    """A given part whose landmarks are slid along its edges to the opening's ends.

    None when they lie there, when they missed them before already, or miss by too much.
    """
    piece, main = state.given.pieces[layer.piece], state.lookup(opening.piece)
    place, residual = put_motion(layer, piece, main)
    _, before = put_motion(
        layer,
        state.pattern.sized(layer.piece, state.job.size),
        state.pattern.sized(opening.piece, state.job.size),
    )
    if residual <= max(OPENING_LENGTH_MM, before + RESTS_MM) or residual > opening.tolerance:
        return None
    back, pairs = place.inverse(), dict(layer.put)
    marks = list(piece.landmarks)
    for i, mark in enumerate(marks):
        if mark.name not in pairs:
            continue
        edge = piece.edge(mark.edge)
        if 0.0 < piece.distance(mark.edge, mark.name) < edge.length:
            end = back.apply(main.landmark(pairs[mark.name]).point)
            marks[i] = put_mark(mark, edge, nearest_place(edge, end))
    return replace(piece, landmarks=tuple(marks))


def _look_at_the_corner(state: State, opening: Opening, old: SizedPiece, new: SizedPiece) -> None:
    """Say that the corner beyond a moved opening lies on a piece that was not sent."""
    moved = float(np.hypot(*(_find_ends(opening, new) - _find_ends(opening, old)).T).max())
    parts = [layer.piece for layer in _list_parts(state, opening)]
    absent = [name for name in parts if name not in state.given.pieces]
    if not absent or moved <= RESTS_MM:
        return
    names = " and ".join(f"'{name}'" for name in absent)
    if _on_old_outline(state, opening):
        said = (
            f"along the outline; {names}, which was not revised, was cut anew from the outline as "
            "it was"
        )
    else:
        said = (
            f"off the outline; the corner beyond it lies on {names}, which was not revised: it "
            f"went along with the opening"
        )
    state.notice(
        opening.name,
        f"the revised '{opening.piece}' moves the ends of the opening by up to {moved:.1f} mm "
        f"{said}",
        f"if that corner was redrawn, send {names} too",
        about=("opening moved", opening.piece, names),
    )


def look_at_layers(state: State, stack: Stack) -> None:
    """Measure the revised layers of a pocket whose main piece was not revised."""
    opening = state.pattern.relations.openings[stack.opening]
    if opening.name not in state.openings:
        lay_given(state, opening)
    for layer in stack.layers:
        if any(f"{layer.piece}.{edge}" in state.redrawn for edge in layer_edges(layer)):
            given_layer(state, stack, layer)
            state.measured(measure_given(state, stack, layer, state.given.pieces[layer.piece]))
