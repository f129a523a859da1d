"""Landmarks, darts, lines and drill marks of a revised drawing, on the piece of the set.

A landmark is matched by its place within the tolerance; else by its name, unless that is
a number in outline order, which says where a drawing began and which way it ran; else,
when an edge has as many of a kind in the drawing as are left in the set, in their order
along the edge.  What has no partner keeps its share of the edge, and that is said.  The
legs of darts go with their dart (see `register_darts`).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import field, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from propagate.engine.darts.changes import DartChange, dart_changes, dart_words, legs_along
from propagate.engine.darts.placing import with_dart, without_dart
from propagate.engine.marks_on_lines import kept_or_share, make_mark, put_mark
from propagate.engine.reshape import rounded
from propagate.engine.revising.darts import DartPairs, is_numbered, pair_darts
from propagate.engine.revising.laid import LaidDrawing, place_grain
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import as_pair, measure_apart
from propagate.pattern.model import (
    Dart,
    Edge,
    InternalLine,
    Landmark,
    LandmarkKind,
    Mark,
    SizedPiece,
)
from propagate.pattern.names import free_name
from propagate.values import dataclass

__all__ = ["Inner", "RevisedMark", "place_inner"]

Array = npt.NDArray[np.float64]
Point = tuple[float, float]


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
    darts: tuple[DartChange, ...] = ()
    notices: tuple[tuple[str, str], ...] = ()


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


def place_inner(laid: LaidDrawing, named: Collection[str] = ()) -> Inner:
    """Put on a piece what the drawing has on it.

    Parameters
    ----------
    laid : LaidDrawing
    named : collection of str
        Landmarks that relations name: they stay, also as legs of a dart that went.
    """
    old, new, tolerance = laid.old, laid.new, laid.tolerance
    darts = pair_darts(laid)
    taken_by_darts = darts.legs_of_set(old)
    marks: list[RevisedMark] = []
    notices: list[tuple[str, str]] = []
    placed, names = _place_legs(laid, darts)
    added: list[Landmark] = []
    drawn = _sort_drawn(laid, darts.legs_drawn)
    for edge in laid.piece.edges:
        own = [mark for mark in old.landmarks_on(edge.name) if mark.name not in taken_by_darts]
        pairs = _pair_landmarks(laid, edge, own, drawn.get(edge.name, []))
        names.update({item.mark.name: name for name, item in pairs.found.items()})
        for mark in own:
            placed[mark.name], item = _keep_landmark(old, edge, mark), pairs.found.get(mark.name)
            off = 0.0 if item is None else item.distance - kept_or_share(old, edge, mark)
            # What lies within the tolerance of its place is there already.
            if item is not None and abs(off) > tolerance:
                placed[mark.name] = put_mark(mark, edge, item.distance)
                marks.append(RevisedMark(mark.name, edge.name, "moved", item.mark.name, off))
        for item in pairs.new:
            taken = {*placed, *(m.name for m in old.landmarks), *(m.name for m in added)}
            name = free_name(item.mark.name, taken)
            kind: LandmarkKind = "mark" if item.mark.kind == "mark" else "notch"
            fresh = make_mark(name, kind, edge, item.distance)
            added.append(fresh)
            marks.append(RevisedMark(fresh.name, edge.name, "added", item.mark.name, item.distance))
            found = (
                f"{fresh.kind} '{fresh.name}' on '{edge.name}' is new, {item.distance:.1f} mm from "
                "its start; it was taken over"
                + ("" if fresh.name == item.mark.name else f" ('{item.mark.name}' was taken)")
            )
            notices.append((found, "take it out of the set if it is not meant"))
        notices += [
            (
                f"{mark.kind} '{mark.name}' on '{edge.name}' is not in the drawing; it kept its "
                "share of the edge",
                "move it if it is to lie elsewhere",
            )
            for mark in pairs.old
            if new.landmarks and mark.kind != "mark"  # plain marks are often not drawn at all
        ]
    every = (*(placed[m.name] for m in old.landmarks), *added)
    whole, inside = _place_inside(laid, replace(laid.piece, landmarks=every), names)
    whole = _exchange_darts(old, whole, darts, named)
    changes = dart_changes(old, whole, tolerance)
    for change in changes:
        if change.what == "changed":
            continue
        legs = next((d.legs for d in old.darts if d.name == change.name), ())
        left = [f"'{m.name}'" for m in whole.landmarks if m.name in legs and m.kind == "mark"]
        said = "the drawing has it no more" if change.what == "went" else "it was taken over"
        if left and change.what in ("went", "swung"):
            which = " and ".join(left)
            said = f"{which} stayed as a mark where it was closed, because the set names it"
        notices.append((f"{dart_words(change)}; {said}", "look whether that is meant"))
    grain, turned = place_grain(old.grain, new.grain, laid.motion, tolerance)
    notices += [turned] if turned is not None else []
    return Inner(replace(whole, grain=grain), (*marks, *inside), changes, tuple(notices))


def _place_legs(laid: LaidDrawing, darts: DartPairs) -> tuple[dict[str, Landmark], dict[str, str]]:
    """Legs of darts in their new places, and the set's name of each leg of the drawing.

    Legs of darts that went are as they were.
    """
    old, names = laid.old, {}
    placed = {leg: old.landmark(leg) for leg in darts.legs_of_set(old)}
    for dart in old.darts:
        drawn = darts.same.get(dart.name)
        if drawn is None:
            continue
        edge, legs = laid.piece.edge(dart.edge), legs_along(old, dart)
        for leg, own, place in zip(legs, drawn.legs, drawn.places, strict=True):
            mark, names[own] = old.landmark(leg), leg
            moved = abs(place - kept_or_share(old, edge, mark)) > laid.tolerance
            placed[leg] = put_mark(mark, edge, place) if moved else _keep_landmark(old, edge, mark)
    return placed, names


def _exchange_darts(
    old: SizedPiece, piece: SizedPiece, darts: DartPairs, named: Collection[str]
) -> SizedPiece:
    """Take off the darts that went and put on those that came.

    One that was swung keeps its names where the drawing gives it none of its own.
    """
    for dart in darts.went:
        piece = without_dart(piece, old, dart.name, named)
    for drawn in darts.came:
        was = darts.find_swung(drawn)
        own = drawn.dart.name
        legs = drawn.legs
        if was is not None and is_numbered(own):
            own = was.name
        if was is not None and any(map(is_numbered, legs)):
            legs = legs_along(old, was)
        piece = with_dart(piece, Dart(own, drawn.edge, legs, drawn.tip), drawn.places)
    return piece


def _sort_drawn(laid: LaidDrawing, legs: Collection[str]) -> dict[str, list[_Drawn]]:
    """Landmarks of the drawing by the set's edge, in their order along it, no legs of darts."""
    found: dict[str, list[_Drawn]] = {}
    for mark in laid.new.landmarks:
        name = laid.partner.get(mark.edge)
        if name is None or mark.name in legs:
            continue
        place = laid.place_on(name, mark)
        if place is not None:
            found.setdefault(name, []).append(_Drawn(mark, place))
    return {name: sorted(items, key=lambda item: item.distance) for name, items in found.items()}


def _pair_landmarks(
    laid: LaidDrawing, edge: Edge, own: Sequence[Landmark], drawn: Sequence[_Drawn]
) -> _Pairs:
    """Pair the landmarks of an edge: by place, by name, by kind and order.

    Place comes first: a drawing that numbers its notches anew when one is added still
    has the others where they were.
    """
    old, pairs = laid.old, _Pairs(old=list(own), new=list(drawn))
    places = {mark.name: kept_or_share(old, edge, mark) for mark in pairs.old}

    def pair(*, named: bool, placed: bool) -> None:
        for mark in tuple(pairs.old):
            here = places[mark.name]
            fits = [
                item
                for item in pairs.new
                if (not named or item.mark.name == mark.name)
                and (placed or not is_numbered(mark.name))
                and (not placed or abs(item.distance - here) <= laid.same_place_mm)
            ]
            if fits:
                pairs.take(mark, min(fits, key=lambda item: abs(item.distance - here)))

    pair(named=True, placed=True)
    pair(named=False, placed=True)
    # A mark in the place of one leg of a dart alone need not be that leg: it may be moved.
    for dart in old.darts:
        found = [leg for leg in dart.legs if leg in pairs.found]
        if len(found) == 1 and any(mark.name in dart.legs for mark in pairs.old):
            pairs.new.append(pairs.found.pop(found[0]))
            pairs.old.append(old.landmark(found[0]))
    pair(named=True, placed=False)
    # A drawing from outside may know dart legs as notches only.
    for kinds in (("notch",), ("dart leg",), ("mark",), ("notch", "dart leg")):
        ours = sorted(
            (mark for mark in pairs.old if mark.kind in kinds),
            key=lambda mark: old.distance(edge.name, mark.name),
        )
        theirs = sorted(
            (item for item in pairs.new if item.mark.kind in kinds), key=lambda item: item.distance
        )
        if ours and len(ours) == len(theirs):
            for mark, item in zip(ours, theirs, strict=True):
                pairs.take(mark, item)
    pair(named=False, placed=True)
    return pairs


def _keep_landmark(old: SizedPiece, edge: Edge, mark: Landmark) -> Landmark:
    if edge is old.edge(mark.edge):
        return mark
    return put_mark(mark, edge, kept_or_share(old, edge, mark))


# --------------------------------------------------------------------------- inside a piece


def _place_inside(
    laid: LaidDrawing, piece: SizedPiece, names: Mapping[str, str]
) -> tuple[SizedPiece, list[RevisedMark]]:
    """Darts, drill marks and lines where the drawing has them under the same name."""
    old, new, motion, tolerance = laid.old, laid.new, laid.motion, laid.tolerance
    marks: list[RevisedMark] = []

    def move_point(name: str, point: Point, own: Point | None, drawn_as: str) -> Point:
        if own is None:
            return point
        there = as_pair(rounded(motion.apply(own)))
        off = float(np.hypot(there[0] - point[0], there[1] - point[1]))
        if off <= tolerance:
            return point
        marks.append(RevisedMark(name, "", "moved", drawn_as, off))
        return there

    tips: dict[str, Dart] = {}
    for dart in new.darts:
        legs = {names.get(leg) for leg in dart.legs}
        same = next((d for d in old.darts if set(d.legs) == legs), None)
        if same is not None:
            tips[same.name] = dart
    drills = {mark.name: mark.point for mark in new.drills}
    lines = {line.name: line.points for line in new.lines}
    whole = replace(
        piece,
        darts=tuple(
            replace(d, tip=move_point(d.name, d.tip, tips[d.name].tip, tips[d.name].name))
            if d.name in tips
            else d
            for d in old.darts
        ),
        drills=tuple(
            Mark(m.name, move_point(m.name, m.point, drills.get(m.name), m.name))
            for m in old.drills
        ),
        lines=tuple(
            _place_line(line, lines.get(line.name), motion, tolerance, marks) for line in old.lines
        ),
    )
    return whole, marks


def _place_line(
    line: InternalLine,
    own: Array | None,
    motion: Motion,
    tolerance: float,
    marks: list[RevisedMark],
) -> InternalLine:
    if own is None:
        return line
    points = rounded(motion.apply(own))
    if points.shape == line.points.shape:
        off = float(np.hypot(*(points - line.points).T).max())
    else:  # drawn with other points, in either direction
        ways = (points[[0, -1]] - line.points[way] for way in ([0, -1], [-1, 0]))
        ends = min(float(np.hypot(*way.T).max()) for way in ways)
        off = max(measure_apart(points, line.points), ends)
    if off <= tolerance:
        return line
    marks.append(RevisedMark(line.name, "", "moved", line.name, off))
    return replace(line, points=points)
