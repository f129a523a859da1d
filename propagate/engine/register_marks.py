"""Landmarks, darts, lines and drill marks of a revised drawing, on the piece of the set.

A landmark is matched by its place within the tolerance; else by its name, unless that is
a number in outline order, which says where a drawing began and which way it ran; else,
when an edge has as many of a kind in the drawing as are left in the set, in their order
along the edge.  What has no partner keeps its share of the edge, and that is said.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from propagate.engine.register_grain import placed_grain
from propagate.engine.reshape import rounded
from propagate.geometry.correspond import NOISE_MM
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import locate, point_at
from propagate.pattern.model import Dart, Edge, InternalLine, Landmark, Mark, SizedPiece

__all__ = ["Inner", "RevisedMark", "placed_inner"]

Array = npt.NDArray[np.float64]
Point = tuple[float, float]

_OFF_EDGE_MM = 1.0
"""A landmark of the drawing farther from its edge than this is not on it."""
_NUMBERED = re.compile(r"(?:\w+_)?(?:notch|mark|leg)_\d+")
"""What readers call landmarks that a drawing does not name."""


@dataclass(frozen=True)
class RevisedMark:
    """Something drawn on a piece that the drawing moved or added.

    Attributes
    ----------
    name : str
        In the set.
    edge : str
        Edge of a landmark; empty for what lies inside.
    what : "moved" or "added"
    drawn_as : str
        Its name in the drawing.
    moved_mm : float
        Along its edge from where it would lie had it only followed it (negative towards
        the start); from the start for one that was added.
    """

    name: str
    edge: str
    what: Literal["moved", "added"]
    drawn_as: str
    moved_mm: float


@dataclass(frozen=True)
class Inner:
    """A piece with what is drawn on it, what of that changed, and what to say of it."""

    piece: SizedPiece
    marks: tuple[RevisedMark, ...] = ()
    notices: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Drawn:
    """A landmark of the drawing on an edge of the set, at a distance from its start."""

    mark: Landmark
    distance: float


@dataclass
class _Pairs:
    """Landmarks of one edge: partners by the set's name, and who is left without one."""

    found: dict[str, _Drawn] = field(default_factory=dict)
    old: list[Landmark] = field(default_factory=list)
    new: list[_Drawn] = field(default_factory=list)

    def take(self, old: Landmark, new: _Drawn) -> None:
        self.found[old.name] = new
        self.old.remove(old)
        self.new.remove(new)


def placed_inner(
    old: SizedPiece,
    new: SizedPiece,
    piece: SizedPiece,
    partner: Mapping[str, str],
    motion: Motion,
    tolerance: float,
) -> Inner:
    """Put on a piece what the drawing has on it.

    Parameters
    ----------
    old, new : SizedPiece
        As the set has it; as drawn, in the drawing's frame.
    piece : SizedPiece
        The old piece with its new edges.
    partner : mapping of the drawing's edge name to the set's
    motion : Motion
        The drawing's frame to the set's.
    tolerance : float
        mm within which something lies where it was.
    """
    marks: list[RevisedMark] = []
    notices: list[str] = []
    names: dict[str, str] = {}
    placed: dict[str, Landmark] = {}
    added: list[Landmark] = []
    drawn = _drawn(new, piece, partner, motion)
    for edge in piece.edges:
        pairs = _paired(old, edge, drawn.get(edge.name, []), tolerance)
        names.update({item.mark.name: name for name, item in pairs.found.items()})
        for mark in old.landmarks_on(edge.name):
            placed[mark.name], change = _landmark(old, edge, mark, pairs.found.get(mark.name))
            # What lies within the tolerance of its place is there already.
            if change is None or abs(change.moved_mm) <= tolerance:
                placed[mark.name] = _kept(old, edge, mark)
            else:
                marks.append(change)
        for item in pairs.new:
            fresh = _added(item, edge, {*placed, *(m.name for m in old.landmarks)}, added)
            added.append(fresh)
            marks.append(RevisedMark(fresh.name, edge.name, "added", item.mark.name, item.distance))
            notices.append(
                f"{fresh.kind} '{fresh.name}' on '{edge.name}' is new, {item.distance:.1f} mm from "
                "its start; it was taken over"
                + ("" if fresh.name == item.mark.name else f" ('{item.mark.name}' was taken)")
            )
        notices += _unmatched(pairs.old, edge, any_drawn=bool(new.landmarks))
    with_marks = replace(piece, landmarks=(*(placed[m.name] for m in old.landmarks), *added))
    whole, inside = _inside(old, new, with_marks, names, motion, tolerance)
    grain, said = placed_grain(old.grain, new.grain, motion, tolerance)
    notices += [said] if said else []
    return Inner(replace(whole, grain=grain), (*marks, *inside), tuple(notices))


def _drawn(
    new: SizedPiece, piece: SizedPiece, partner: Mapping[str, str], motion: Motion
) -> dict[str, list[_Drawn]]:
    """Landmarks of the drawing by the set's edge, in their order along it."""
    found: dict[str, list[_Drawn]] = {}
    for mark in new.landmarks:
        name = partner.get(mark.edge)
        if name is None:
            continue
        along, gap = locate(piece.edge(name).points, motion.apply(mark.point))
        if gap <= _OFF_EDGE_MM:
            found.setdefault(name, []).append(_Drawn(mark, along))
    return {name: sorted(items, key=lambda item: item.distance) for name, items in found.items()}


def _paired(old: SizedPiece, edge: Edge, drawn: Sequence[_Drawn], tolerance: float) -> _Pairs:
    """Pair the landmarks of an edge: by place, by name, by kind and order.

    Place comes first: a drawing that numbers its notches anew when one is added still
    has the others where they were.
    """
    pairs = _Pairs(old=list(old.landmarks_on(edge.name)), new=list(drawn))
    places = {mark.name: _carried(old, edge, mark) for mark in pairs.old}
    for named, placed in ((True, True), (False, True), (True, False)):
        for mark in tuple(pairs.old):
            here = places[mark.name]
            fits = [
                item
                for item in pairs.new
                if (not named or item.mark.name == mark.name)
                and (placed or not _NUMBERED.fullmatch(mark.name))
                and (not placed or abs(item.distance - here) <= max(tolerance, 0.05))
            ]
            if fits:
                pairs.take(mark, min(fits, key=lambda item: abs(item.distance - here)))
    # A drawing from outside may know dart legs as notches only.
    for kinds in (("notch",), ("dart leg",), ("mark",), ("notch", "dart leg")):
        own = sorted(
            (mark for mark in pairs.old if mark.kind in kinds),
            key=lambda mark: old.distance(edge.name, mark.name),
        )
        theirs = [item for item in pairs.new if item.mark.kind in kinds]
        if own and len(own) == len(theirs):
            for mark, item in zip(own, theirs, strict=True):
                pairs.take(mark, item)
    return pairs


def _carried(old: SizedPiece, edge: Edge, mark: Landmark) -> float:
    """Distance of a landmark that only follows its edge: where the line stayed, it stays."""
    if edge is old.edge(mark.edge):
        return old.distance(mark.edge, mark.name)
    along, gap = locate(edge.points, mark.point)
    if gap <= NOISE_MM:
        return along
    return old.distance(mark.edge, mark.name) / old.edge(mark.edge).length * edge.length


def _kept(old: SizedPiece, edge: Edge, mark: Landmark) -> Landmark:
    if edge is old.edge(mark.edge):
        return mark
    return _at(mark, point_at(edge.points, _carried(old, edge, mark)))


def _landmark(
    old: SizedPiece, edge: Edge, mark: Landmark, drawn: _Drawn | None
) -> tuple[Landmark, RevisedMark | None]:
    if drawn is None:
        return mark, None
    off = drawn.distance - _carried(old, edge, mark)
    fresh = _at(mark, point_at(edge.points, drawn.distance))
    return fresh, RevisedMark(mark.name, edge.name, "moved", drawn.mark.name, off)


def _at(mark: Landmark, point: Array) -> Landmark:
    x, y = rounded(point)
    return replace(mark, point=(float(x), float(y)))


def _added(item: _Drawn, edge: Edge, taken: set[str], added: Iterable[Landmark]) -> Landmark:
    names = taken | {mark.name for mark in added}
    name, count = item.mark.name, 1
    while name in names:
        count += 1
        name = f"{item.mark.name}_{count}"
    kind: Literal["notch", "mark"] = "mark" if item.mark.kind == "mark" else "notch"
    mark = Landmark(name, edge.name, (0.0, 0.0), kind)
    return _at(mark, point_at(edge.points, item.distance))


def _unmatched(left: Sequence[Landmark], edge: Edge, *, any_drawn: bool) -> list[str]:
    """Say what the drawing does not show; plain marks are often not drawn at all."""
    return [
        f"{mark.kind} '{mark.name}' on '{edge.name}' is not in the drawing; it kept its share of "
        "the edge"
        for mark in left
        if any_drawn and mark.kind != "mark"
    ]


# --------------------------------------------------------------------------- inside a piece


def _inside(
    old: SizedPiece,
    new: SizedPiece,
    piece: SizedPiece,
    names: Mapping[str, str],
    motion: Motion,
    tolerance: float,
) -> tuple[SizedPiece, list[RevisedMark]]:
    """Darts, drill marks and lines where the drawing has them under the same name."""
    marks: list[RevisedMark] = []

    def moved(name: str, point: Point, own: Point, drawn_as: str) -> Point:
        x, y = rounded(motion.apply(own))
        off = float(np.hypot(x - point[0], y - point[1]))
        if off <= tolerance:
            return point
        marks.append(RevisedMark(name, "", "moved", drawn_as, off))
        return (float(x), float(y))

    tips: dict[str, Dart] = {}
    for dart in new.darts:
        legs = {names.get(leg) for leg in dart.legs}
        same = next((d for d in old.darts if d.name == dart.name or set(d.legs) == legs), None)
        if same is not None:
            tips[same.name] = dart
    drills = {mark.name: mark.point for mark in new.drills}
    lines = {line.name: line.points for line in new.lines}
    whole = replace(
        piece,
        darts=tuple(
            replace(d, tip=moved(d.name, d.tip, tips[d.name].tip, tips[d.name].name))
            if d.name in tips
            else d
            for d in old.darts
        ),
        drills=tuple(
            Mark(m.name, moved(m.name, m.point, drills[m.name], m.name)) if m.name in drills else m
            for m in old.drills
        ),
        lines=tuple(
            _line(line, lines.get(line.name), motion, tolerance, marks) for line in old.lines
        ),
    )
    return whole, marks


def _line(
    line: InternalLine,
    own: Array | None,
    motion: Motion,
    tolerance: float,
    marks: list[RevisedMark],
) -> InternalLine:
    if own is None or own.shape != line.points.shape:
        return line
    points = rounded(motion.apply(own))
    off = float(np.hypot(*(points - line.points).T).max())
    if off <= tolerance:
        return line
    marks.append(RevisedMark(line.name, "", "moved", line.name, off))
    return replace(line, points=points)
