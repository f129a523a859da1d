"""Cut a silhouette apart again: every piece of it gets its edges back."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.engine.compare import changed_edges
from propagate.engine.marks_on_lines import put_mark_at
from propagate.engine.record import ChangeKind
from propagate.engine.relations.split_line import on_split_line, parts_to_cut, split_line
from propagate.engine.reshape import Edited, Placed, rounded, share_corners
from propagate.engine.state import LaidOpening, Split, State
from propagate.engine.tape import Segment, edge_from_parts
from propagate.geometry.motion import IDENTITY
from propagate.geometry.polyline import are_alike, as_pair, between, locate, point_at
from propagate.pattern.buttons import points_of
from propagate.pattern.model import Array, Dart, Edge, InternalLine, Landmark, Mark, SizedPiece
from propagate.tolerances import ON_LINE_MM, SAME_POINT_MM

__all__ = ["apply", "cut_segment", "place_mark", "size_of_line"]


CLEAR_MM = 0.02
"""A silhouette's vertex closer than this to an exact end gives way to it; a chord error
of that size over so short a chord is far below a micrometre."""
_BESIDE_MM = 15.0
"""A drill mark this close to a line belongs to it (5 to 10 mm: common practice, no source)."""


def apply(state: State, name: str, cause: str) -> bool:
    """Cut the pieces of a silhouette out of it; returns whether any changed.

    The lead, and every part that is no pocket layer: layers are re-seated as a stack.
    """
    edited = state.silhouette(name)
    changed = False
    for piece in parts_to_cut(state.pattern, name):
        changed |= _cut_piece(state, edited, piece, cause)
    return changed


def _cut_piece(state: State, edited: Edited, name: str, cause: str) -> bool:
    if name in state.given.pieces:
        return False
    old = edited.base.sized[name]
    openings = ((state.pattern.relations.openings[n], laid) for n, laid in state.openings.items())
    opening = next(((one.edge, laid) for one, laid in openings if one.piece == name), None)
    edges: list[Edge] = []
    inner: dict[str, int] = {}
    sizes: set[str] = set()
    for edge in old.edges:
        new = edge
        found = _find_segment(edited, name, edge.name)
        if found is not None:
            splits = state.splits.get((edited.base.name, found[0]), {})
            begin, end = _find_ends(edited, splits, *found)
            sizes |= edited.sizes_between(found[0], begin.distance, end.distance)
            if found[0] in edited.changed or splits:
                new = _cut_edge(edited, name, edge, *found, (begin, end))
        elif opening is not None and edge.name == opening[0]:
            if not are_alike(edge.points, opening[1].points, SAME_POINT_MM):
                new = edge_from_parts(edge.name, [opening[1].points])
        else:
            inner[edge.name] = len(edges)
        edges.append(new)
    if all(new is edge for new, edge in zip(edges, old.edges, strict=True)) and not edited.regions:
        return False
    sources: dict[str, SizedPiece] = {}
    for inside, index in inner.items():
        edges[index], sources[inside] = split_line(edited, name, edges, index)
    whole = share_corners(edges, old.edges)
    marks = []
    for mark in old.landmarks:
        if mark.edge in sources:
            put = on_split_line(whole, sources[mark.edge], mark)
        else:
            put = _move_landmark(state, edited, name, mark, opening)
        # One that the opening passed is kept on the piece's part of the silhouette edge.
        points = next(edge.points for edge in whole if edge.name == put.edge)
        _, off = locate(points, put.point)
        state.put_at_end(name, put, off)
        if off > ON_LINE_MM:
            ends = points[[0, -1]]
            put = put_mark_at(put, ends[int(np.hypot(*(ends - put.point).T).argmin())])
        marks.append(put)
    lines = ((line, _from_region(edited, name, "lines", line.name)) for line in old.lines)
    piece = replace(
        old,
        edges=whole,
        landmarks=tuple(marks),
        darts=tuple(_move_dart(edited, name, dart) for dart in old.darts),
        lines=tuple(
            line if points is None else InternalLine(line.name, points) for line, points in lines
        ),
        drills=tuple(_move_drill(edited, name, mark) for mark in old.drills),
        levels=_move_levels(edited, name),
    )
    if piece == old:
        return False
    state.pieces[name] = piece
    state.stretches[name] = sizes
    for after in changed_edges(old, piece):
        found = _find_segment(edited, name, after)
        node = f"{edited.base.name}/{found[0]}" if found else cause
        why = node if node in state.changes else cause
        text = f"cut apart from '{edited.base.name}'"
        state.change(f"{name}.{after}", ChangeKind.CUT_APART, text, why)
    return True


def _bring_home(edited: Edited, piece: str, points: Array) -> Array:
    """Points of the silhouette in the frame of one of its pieces."""
    motion = edited.base.motions[piece]
    return points if motion is IDENTITY else rounded(motion.inverse().apply(points))


def _find_segment(edited: Edited, piece: str, edge: str) -> tuple[str, int] | None:
    """Silhouette edge and index of the segment that a piece's edge lies on."""
    for name, segments in edited.base.segments.items():
        for index, segment in enumerate(segments):
            if (segment.span.piece, segment.span.edge) == (piece, edge):
                return name, index
    return None


def _find_ends(
    edited: Edited, splits: dict[int, Split], edge: str, index: int
) -> tuple[Split, Split]:
    """Where a segment begins and ends on its silhouette edge after the edit."""
    points = edited.edge(edge).points
    segments = edited.base.segments[edge]
    begin = Split(0.0, points[0])
    end = Split(edited.edge(edge).length, points[-1])
    if index > 0:
        begin = splits.get(index - 1) or _find_joint(edited, edge, index - 1)
    if index + 1 < len(segments):
        end = splits.get(index) or _find_joint(edited, edge, index)
    return begin, end


def _find_joint(edited: Edited, edge: str, index: int) -> Split:
    """The joint after a segment that no opening moved: where its stretch's own size has it.

    On a stretch that was drawn anew it keeps its distance from the nearer end of the edge: a
    yoke stays as deep at the side as it was.
    """
    distance, size = edited.base.segments[edge][index].on_edge[1], edited.edge(edge).length
    for stretch in edited.stretches[edge]:
        source = edited.sources[stretch.source].silhouette
        there, whole = source.segments[edge][index].on_edge[1], source.edge(edge).length
        here = stretch.carry(there)
        if here is not None:
            drawn = there if there < whole / 2 else size - (whole - there)
            distance = here if stretch.kept else drawn
            break
    return Split(distance, rounded(point_at(edited.edge(edge).points, distance)))


def cut_segment(points: Array, begin: Split, end: Split) -> Array:
    """Part of an edge between two splits, with their exact points at its ends."""
    part = between(points, begin.distance, end.distance)
    part[0], part[-1] = begin.point, end.point
    # A vertex right beside the exact end would step back over it.
    first, last = (np.hypot(part[:, 0] - x, part[:, 1] - y) > CLEAR_MM for x, y in part[[0, -1]])
    clear = first & last
    clear[0] = clear[-1] = True
    return np.asarray(part[clear])


def _cut_edge(
    edited: Edited, piece: str, old: Edge, name: str, index: int, ends: tuple[Split, Split]
) -> Edge:
    """A piece's edge cut from a silhouette edge; the piece's own digits at an end that stays.

    Where the part misses its joint by a little, the edge was taped to the joint.
    """
    silhouette = edited.edge(name)
    segment: Segment = edited.base.segments[name][index]
    places = segment.on_edge
    points = _bring_home(edited, piece, cut_segment(silhouette.points, *ends))
    if segment.on_piece[0] > segment.on_piece[1]:
        points, ends, places = points[::-1], ends[::-1], places[::-1]
    points = points.copy()
    for end, place, split in zip((0, -1), places, ends, strict=True):
        was = point_at(edited.base.edge(name).points, place)
        if np.abs(was - split.point).max() <= SAME_POINT_MM:
            points[end] = old.points[end]
    if are_alike(points, old.points, SAME_POINT_MM):
        return old
    return edge_from_parts(old.name, [points], _bring_home(edited, piece, silhouette.turn_points))


def _move_landmark(
    state: State,
    edited: Edited,
    piece: str,
    mark: Landmark,
    opening: tuple[str, LaidOpening] | None,
) -> Landmark:
    if opening is not None and mark.edge == opening[0]:
        own = opening[1].source.sized[piece].landmark(mark.name).point
        return put_mark_at(mark, rounded(opening[1].motion.apply(own)))
    walked = state.walked.get((piece, mark.name))
    if walked is not None:
        placed = edited.place(piece, mark.name)
        if placed is not None:
            points = edited.edge(placed.edge).points
            return put_mark_at(mark, _bring_home(edited, piece, rounded(point_at(points, walked))))
    placed = place_mark(state, edited, piece, mark.name)
    return mark if placed is None else put_mark_at(mark, _bring_home(edited, piece, placed.point))


def place_mark(state: State, edited: Edited, piece: str, name: str) -> Placed | None:
    """Where a landmark lies on the edited silhouette, from the end that it is anchored to."""
    edge, _, end = state.pattern.info[piece].anchors.get(name, "").rpartition(".")
    found = _find_segment(edited, piece, edge)
    if found is not None:
        first, last = edited.base.segments[found[0]][found[1]].on_piece
        if first > last:  # the silhouette's edge runs the other way round
            end = "end" if end == "start" else "start"
    return edited.place(piece, name, anchor=end or None)


def _from_region(edited: Edited, piece: str, kind: str, name: str) -> Array | None:
    """Points of an inner item of the region's source laid here, when it lies inside."""
    for region in reversed(edited.regions):
        source = edited.sources[region.source]
        sized = source.silhouette.sized[piece]
        for item in getattr(sized, kind):
            if item.name != name:
                continue
            own = source.silhouette.motions[piece].apply(points_of(item))
            points = rounded(source.motion.apply(own))
            grain = edited.base.base.grain.direction
            if (region.side * (points @ grain - region.height) > 0).all():
                return _bring_home(edited, piece, points)
    return None


def size_of_line(edited: Edited, piece: str, name: str) -> str | None:
    """The size that an inner line is taken from; None where it is the silhouette's own."""
    for region in reversed(edited.regions):
        if _from_region(replace(edited, regions=(region,)), piece, "lines", name) is not None:
            return edited.sources[region.source].size
    return None


def _move_drill(edited: Edited, piece: str, mark: Mark) -> Mark:
    """A mark beside a line, such as the corner of a pocket's place, goes where the line goes."""
    lines = edited.base.sized[piece].lines
    gaps = [float(locate(line.points, mark.point)[1]) for line in lines]
    if gaps and min(gaps) <= _BESIDE_MM:
        line = lines[int(np.argmin(gaps))]
        if _from_region(edited, piece, "lines", line.name) is None:
            return mark
    found = _from_region(edited, piece, "drills", mark.name)
    return mark if found is None else Mark(mark.name, as_pair(found[0]))


def _move_dart(edited: Edited, piece: str, dart: Dart) -> Dart:
    """The tip follows the source of the legs."""
    placed = edited.place(piece, dart.legs[0])
    if placed is None or placed.source == "lower":
        return dart
    source = edited.sources[placed.source]
    for own in source.silhouette.sized[piece].darts:
        if own.name == dart.name:
            tip = source.silhouette.motions[piece].apply(own.tip)
            return replace(
                dart, tip=as_pair(_bring_home(edited, piece, rounded(source.motion.apply(tip))))
            )
    return dart


def _move_levels(edited: Edited, piece: str) -> dict[str, tuple[float, float]]:
    """Levels inside a region follow its source, when they lie inside it in both sizes.

    The hip level of the upper size may lie above the hold, and the lower's too; it is still
    not the hip of the result.
    """
    old = edited.base.sized[piece].levels
    new = dict(old)
    grain = edited.base.base.grain.direction
    placed = edited.base.motions[piece]
    for region in edited.regions:
        source = edited.sources[region.source]
        for name, point in source.silhouette.sized[piece].levels.items():
            if name in region.stays or name not in old:
                continue
            own = source.silhouette.motions[piece].apply(point)
            here = rounded(source.motion.apply(own))
            heights = (float(place @ grain) for place in (here, placed.apply(old[name])))
            if all(region.side * (h - region.height) > 0.5 for h in heights):
                new[name] = as_pair(_bring_home(edited, piece, here))
    return new
