"""Trace a follower that was cut like its lead: a facing, a lining.

Such a piece is sewn to one lead along two or more edges and lies on it there, line on line;
or along one edge, and lies within it.  Matching it edge by edge would ask two things of the
corner between them, or pull it over its fold.  By hand it is
laid on the new lead and its lines are traced; so they are here.  What did not change keeps
every digit: a stretch that is the lead's old one is the follower's own old one.  Darts of the
lead that the follower has too are taken over (see `darts.taking`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from propagate.engine.darts.changes import dart_words
from propagate.engine.darts.taking import DartTaking
from propagate.engine.darts.telling import tell_not_alike
from propagate.engine.following.parallel import sunk_edges
from propagate.engine.marks_on_lines import follow_line, nearest_place, put_mark, walked_place
from propagate.engine.record import ChangeKind
from propagate.engine.relations.drawn_alike import (
    LAID_MM,
    SewnAlike,
    beside_alike,
    laid_alike,
    lead_before,
    lies_within,
    sewn_alike,
)
from propagate.engine.relations.ends import with_corners
from propagate.engine.reshape import rounded
from propagate.engine.state import State
from propagate.engine.tape import edge_from_parts
from propagate.geometry.fade import smoothstep
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import arc_lengths, as_pair, point_at
from propagate.pattern.model import Array, Edge, Landmark, Mark, SizedPiece
from propagate.pattern.named_marks import named_landmarks
from propagate.pattern.relations import Seam
from propagate.pattern.spans import distance_on_run
from propagate.tolerances import CHORD_ERROR_MM, FADE_MM, RESTS_MM

__all__ = ["trace_follower"]

Point = tuple[float, float]

ALIKE_MM = 2 * CHORD_ERROR_MM
"""Two drawings of one line, each with its chord error, lie this close to each other."""
COPIED_MM = 0.2
"""A mark of the follower this close to one of the lead, laid on it, is the same mark."""


def trace_follower(state: State, seam: Seam, cause: str) -> bool | None:
    """Trace the follower of a seam from its lead, along every edge that they share.

    Returns
    -------
    bool or None
        Whether the follower changed; None when it is not cut like its lead, or was
        decided otherwise, and has to be matched.
    """
    piece = seam.follow[0].piece
    if piece in state.given.pieces or piece in state.pattern.relations.parts_of:
        return None
    if piece not in state.traced and any(key.startswith(f"{piece}.") for key in state.changes):
        return None  # something else than a trace has decided it
    old = state.pattern.sized(piece, state.size_of(piece))
    group = sewn_alike(state, seam, piece, old)
    if not group:
        return None
    was, now = lead_before(state, seam), state.lookup(seam.lead[0].piece)
    motion, darts = laid_alike(group, was, now, old)
    if motion is None or not (darts.changes or any(one.changed for one in group)):
        return None
    if not darts.possible:
        if len(group) > 1 or lies_within(was, old, motion):
            tell_not_alike(state, seam, darts.changes)
        return None
    if len(group) == 1 and not (darts.alike or lies_within(was, old, motion)):
        return None
    if darts.moves_edges:
        group = [*group, *beside_alike(group, was, now, old, darts)]
    named = named_landmarks(state.pattern, piece)
    new = darts.put(_trace_piece(state, piece, old, group, motion), old, named)
    if new == state.lookup(piece):
        return False
    state.pieces[piece] = new
    state.traced.add(piece)
    _note_changes(state, seam, old, new, group, darts, cause)
    return True


def _trace_piece(
    state: State, piece: str, old: SizedPiece, group: list[SewnAlike], motion: Motion
) -> SizedPiece:
    fresh = {}
    for one in group:
        if one.changed:
            line = _trace_line(one, motion)
            on = [state.lookup(span.piece).edge(span.edge) for span in one.lead]
            corners = np.vstack([motion.apply(edge.turn_points) for edge in on])
            parts = [line if one.forward else line[::-1]]
            fresh[one.edge] = edge_from_parts(one.edge, parts, rounded(corners))
    names = old.edge_names
    for name, after in zip(names, (*names[1:], names[0]), strict=True):
        if name in fresh and after in fresh:  # both have the lead's corner, but for a digit
            points = fresh[after].points.copy()
            points[0] = fresh[name].points[-1]
            fresh[after] = Edge(after, points, fresh[after].turns)
    new = old
    for name, edge in fresh.items():
        new = with_corners(new, new.edge(name), edge)
    drawn_on = _drawn_on(state, group, old, motion)
    for edge in sunk_edges(state.pattern, piece, old, new, drawn_on):
        new = with_corners(new, new.edge(edge.name), edge)
    marks = {m.name: follow_line(new, old, m) for m in old.landmarks}
    # Points that the lead has on it and in it, before and after, laid on the follower.
    lead = group[0].lead[0].piece
    was, now = state.pattern.sized(lead, state.size_of(lead)), state.lookup(lead)
    pairs: list[tuple[Point, Point]] = []
    for a, b in zip(_points_of(was), _points_of(now), strict=True):
        pairs += [(a[name], b[name]) for name in a if name in b]
    both = np.array(pairs, dtype=np.float64).reshape(-1, 2, 2)
    drawn = motion.apply(both[:, 0]), motion.apply(both[:, 1])
    for one in group:
        if one.changed:
            edge = new.edge(one.edge)
            for mark in old.landmarks_on(edge.name):  # dart legs among them
                point = _move_point(mark.point, drawn)
                if point != mark.point:
                    marks[mark.name] = put_mark(mark, edge, nearest_place(edge, point))
            marks.update(_trace_notches(state, one, new, marks))
    return replace(
        new,
        landmarks=tuple(marks[m.name] for m in old.landmarks),
        darts=tuple(replace(d, tip=_move_point(d.tip, drawn)) for d in old.darts),
        drills=tuple(Mark(m.name, _move_point(m.point, drawn)) for m in old.drills),
    )


def _drawn_on(state: State, group: list[SewnAlike], old: SizedPiece, motion: Motion) -> set[str]:
    """Edges of the follower of which the lead shows how they go, so that none has to sink.

    Those that are traced, and those drawn alike of which the lead's turned about one end.
    """
    lead = group[0].lead[0].piece
    was, now = state.pattern.sized(lead, state.size_of(lead)), state.lookup(lead)
    found = {one.edge for one in group}
    for edge in was.edges:
        moved = now.edge(edge.name).points[[0, -1]] - edge.points[[0, -1]]
        rests = np.hypot(*moved.T) <= RESTS_MM
        if rests[0] != rests[1]:
            # What lies between may differ by a taper that went only one of the two ways.
            ends = motion.apply(edge.points[[0, -1]])
            found.update(
                own.name
                for own in old.edges
                if any(
                    np.hypot(*(own.points[[0, -1]] - way).T).max() <= LAID_MM
                    for way in (ends, ends[::-1])
                )
            )
    return found


def _points_of(piece: SizedPiece) -> Iterator[dict[str, Point]]:
    """Landmarks, dart tips and drill marks by name; a landmark is one on its own edge alone."""
    yield {f"{m.name} on {m.edge}": m.point for m in piece.landmarks}
    yield {d.name: d.tip for d in piece.darts}
    yield {m.name: m.point for m in piece.drills}


def _move_point(point: Point, drawn: tuple[Array, Array]) -> Point:
    """Where a point that is drawn alike on the lead went; one that is not stays."""
    before, after = drawn
    away = np.hypot(*(before - point).T)
    if not len(away) or away.min() > COPIED_MM:
        return point
    nearest = int(away.argmin())
    if np.hypot(*(after[nearest] - before[nearest])) <= RESTS_MM:
        return point
    return as_pair(rounded(after[nearest] + (np.asarray(point) - before[nearest])))


def _trace_line(one: SewnAlike, motion: Motion) -> Array:
    """The lead's new line laid on the follower, with the follower's own ends where it may."""
    body, arc = motion.apply(one.after), arc_lengths(one.after)
    first = _count_alike(one.before, one.after)
    last = min(_count_alike(one.before[::-1], one.after[::-1]), len(body) - max(first, 1))
    shift = np.zeros_like(body)
    head, tail = one.own[:0], one.own[:0]
    start, stop = 0, len(body)
    exact: dict[int, Array] = {}  # where the kept parts end
    if first:
        start = first - 1
        head, at = _keep_head(one.own, float(arc_lengths(one.before)[start]))
        exact[start] = at
        shift += np.outer(_fade_out(arc - arc[start]), at - body[start])
    if last:
        stop = len(body) - last + 1
        rest = float(arc_lengths(one.before[::-1])[last - 1])
        flipped, at = _keep_head(one.own[::-1], rest)
        tail = flipped[::-1]
        exact[stop - 1] = at
        shift += np.outer(_fade_out(arc[stop - 1] - arc), at - body[stop - 1])
    new = rounded(body + shift)
    for vertex, point in exact.items():
        new[vertex] = point
    return np.vstack([head, new[start:stop], tail])


def _count_alike(before: Array, after: Array) -> int:
    """How many vertices at the beginning of two lines rest in their place."""
    count = min(len(before), len(after))
    moved = np.hypot(*(before[:count] - after[:count]).T) > RESTS_MM
    return int(np.argmax(moved)) if moved.any() else count


def _keep_head(own: Array, distance: float) -> tuple[Array, Array]:
    """The follower's vertices up to a distance, and its point there."""
    arc = arc_lengths(own)
    near = int(np.abs(arc - distance).argmin())
    if abs(float(arc[near]) - distance) <= ALIKE_MM:
        return own[:near], own[near]
    return own[arc < distance], point_at(own, distance)


def _fade_out(away: Array) -> Array:
    """1 where the kept part ends, 0 beyond `FADE_MM` from there."""
    return np.asarray(1.0 - smoothstep(np.clip(away / FADE_MM, 0.0, 1.0)))


def _trace_notches(
    state: State, one: SewnAlike, new: SizedPiece, marks: dict[str, Landmark]
) -> dict[str, Landmark]:
    """Notches that mark this seam lie where the lead's are."""
    found: dict[str, Landmark] = {}
    for lead, follow in one.seam.notches if one.seam is not None else ():
        piece, _, mark = lead.partition(".")
        along = distance_on_run(state.lookup, one.lead, piece, mark)
        name = follow.partition(".")[2]
        old = new.landmark(name)
        if along is None or old.edge != one.edge:
            continue
        edge = new.edge(one.edge)
        place = walked_place(edge, along, "start" if one.forward else "end")
        put = put_mark(old, edge, place, RESTS_MM)
        found[name] = marks[name] if put is old else put
    return found


def _note_changes(
    state: State,
    seam: Seam,
    old: SizedPiece,
    new: SizedPiece,
    group: list[SewnAlike],
    darts: DartTaking,
    cause: str,
) -> None:
    piece = seam.follow[0].piece
    lead = seam.lead[0].piece
    sewn = {one.edge: one for one in group if one.changed}
    taken: dict[str, list[str]] = {}
    for change in darts.changes:
        for edge in {darts.edges.get(name, "") for name in (change.edge, change.was_on)}:
            taken.setdefault(edge, []).append(dart_words(change))
    for before, after in zip(old.edges, new.edges, strict=True):
        own = sewn.get(after.name)
        said = taken.get(after.name, [])
        kind, by = ChangeKind.TRACED, cause
        if own is not None:
            how = "drawn like" if own.seam is None else "cut like"
            across = "" if own.seam is None else f", across seam '{own.seam.name}'"
            text = f"traced from '{lead}', which it is {how}{across}"
            by = next((s.key for s in own.lead if s.key in state.changes), cause)
        elif said:
            text = f"takes over from '{lead}', which it is cut like, that {'; '.join(said)}"
        elif before != after:
            kind, text = ChangeKind.FOLLOWS_CORNER, "follows its corner"
            by = f"{piece}.{next(iter(sewn))}"
        else:
            continue
        state.change(f"{piece}.{after.name}", kind, text, by)
