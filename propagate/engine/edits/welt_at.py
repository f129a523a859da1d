"""A welt opening made longer or shorter, turned, or moved: what the edit `open` does to one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from propagate.engine.darts.cap import lie_of
from propagate.engine.edits.nearest import largest_share
from propagate.engine.edits.opening_at import LEAST_MM
from propagate.engine.job import Drawn, Given, Job
from propagate.engine.record import EDIT, Change, ChangeKind
from propagate.engine.relations.welt_opening import with_welt_points
from propagate.engine.reshape import rounded
from propagate.engine.welts.anchored import measure_by_anchors
from propagate.engine.welts.room import measure_rooms
from propagate.errors import EditError
from propagate.geometry.polyline import length, nearest_point
from propagate.pattern.amount import Amount, amount_mm
from propagate.pattern.model import Array, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relation_edges import anchors_of, line_node
from propagate.pattern.welts import WeltOpening, anchor_kind, length_said, line_points, welt_points
from propagate.values import dataclass

if TYPE_CHECKING:
    from propagate.engine.edits.change_opening import ChangeOpening

__all__ = ["open_welt", "with_length"]


@dataclass(frozen=True)
class _Asked:
    """What becomes of an opening: its new length and how far it goes, mm; its turn, radians."""

    long: float
    along: float
    down: float
    turn: float


@dataclass(frozen=True)
class _Line:
    """An opening as it lies, seen from what it is measured from.

    Attributes
    ----------
    points : (n, 2) array
        Of its line, and after them of what goes with it.
    count : int
        Points of the line.
    pivot : (2,) array
        What stays where it is made longer or turned: its end near a second edge, else its middle.
    ahead, down : (2,) arrays
        Along the line, away from the second edge; square to it, away from the first one.
    """

    points: Array
    count: int
    pivot: Array
    ahead: Array
    down: Array

    @property
    def ends(self) -> Array:
        """(2, 2) its two ends."""
        return self.points[[0, self.count - 1]]

    @property
    def long(self) -> float:
        """Its length, mm."""
        return length(self.points[: self.count])

    def put(self, asked: _Asked) -> Array:
        """The points where it is asked to lie."""
        middle, chord = self.ends.mean(axis=0), float(np.hypot(*(self.ends[1] - self.ends[0])))
        scale = asked.long / self.long
        away = (self.points - middle) @ np.column_stack([self.ahead, self.down])
        longer = away + np.column_stack(
            [
                np.clip(away[:, 0] / (chord / 2.0), -1.0, 1.0) * chord * (scale - 1.0) / 2.0,
                np.zeros(len(away)),
            ]
        )
        longer[: self.count] = scale * away[: self.count]
        # Seen from the pivot, which keeps its place on the line.
        back = (self.pivot - middle) @ self.ahead
        seen = longer - np.array([scale * back, 0.0])
        cos, sin = math.cos(asked.turn), math.sin(asked.turn)
        turned = seen @ np.array([[cos, sin], [-sin, cos]])
        shifted = turned + np.array([asked.along, asked.down])
        found: Array = self.pivot + shifted @ np.vstack([self.ahead, self.down])
        return found


def open_welt(edit: ChangeOpening, job: Job, opening: WeltOpening, where: str) -> Drawn:
    """Lay a welt opening otherwise; its parts follow.  Raises EditError."""
    if edit.to is None and edit.along is None and edit.down is None and not edit.turn:
        raise EditError(f"{where}: expected one of 'to', 'along', 'down' and 'turn'")
    piece = job.pattern.sized(opening.on, job.size)
    line = _line_of(job, opening, piece)
    asked = _read_asked(edit, job, opening, line, where)
    names = anchors_of(job.pattern, opening)
    before = measure_rooms(piece, opening, names)

    def laid(share: float) -> SizedPiece:
        part = _Asked(
            line.long + share * (asked.long - line.long),
            share * asked.along,
            share * asked.down,
            share * asked.turn,
        )
        return with_welt_points(piece, piece, opening, rounded(line.put(part)))

    def crossed(share: float) -> str | None:
        found = measure_rooms(laid(share), opening, names)
        return next((n for n, mm in found.items() if mm < 0.0 <= before.get(n, 0.0)), None)

    what = crossed(1.0)
    if what is not None:
        share = largest_share(lambda share: crossed(share) is None)
        raise EditError(
            f"{where}: it would cross {what} of '{opening.on}'; the nearest possible is "
            f"{_tell_nearest(edit, line, asked, share)}"
        )
    new = laid(1.0)
    text = f"opening '{opening.name}' {_say_words(edit, line, asked)}"
    return Drawn(
        said=text,
        words=edit.words(job, [opening.on]),
        changes=(Change(line_node(opening), ChangeKind.MARKED, text, EDIT),),
        given=Given({opening.on: new}, loose=frozenset({opening.on})),
    )


def _line_of(job: Job, opening: WeltOpening, piece: SizedPiece) -> _Line:
    names = anchors_of(job.pattern, opening)
    points, count = welt_points(piece, opening), len(line_points(piece, opening))
    ends = points[[0, count - 1]]
    way = 1.0
    pivot = ends.mean(axis=0)
    if len(names) > 1 and anchor_kind(piece, names[1]) == "edge":
        near = measure_by_anchors(piece, ends, names, grain=opening.angle == "grain").near
        pivot, way = ends[near], 1.0 - 2.0 * near
    ahead = way * (ends[1] - ends[0])
    ahead = ahead / np.hypot(*ahead)
    down = np.array([-ahead[1], ahead[0]])
    off = -np.array(lie_of(job.pattern, opening.on, piece).up)
    if anchor_kind(piece, names[0]) == "edge":
        middle = ends.mean(axis=0)
        off = middle - nearest_point(piece.edge(names[0]).points, middle)
    down = down if float(off @ down) >= 0.0 else -down
    return _Line(points, count, pivot, ahead, down)


def _read_asked(
    edit: ChangeOpening, job: Job, opening: WeltOpening, line: _Line, where: str
) -> _Asked:
    """What is asked for in one size; raises EditError."""

    def long(size: str) -> float:
        return length(line_points(job.pattern.sized(opening.on, size), opening))

    def mm(amount: Amount | None, default: float) -> float:
        return default if amount is None else edit.amount(job, amount, long)

    asked = _Asked(
        mm(edit.to, line.long), mm(edit.along, 0.0), mm(edit.down, 0.0), math.radians(edit.turn)
    )
    if not all(map(math.isfinite, (asked.long, asked.along, asked.down, asked.turn))):
        raise EditError(f"{where}: found a value that is not a number, expected mm and degrees")
    if asked.long < LEAST_MM:
        raise EditError(
            f"{where}: found a length of {asked.long:g} mm, expected at least {LEAST_MM:g} mm; it "
            f"is {line.long:.1f} mm long"
        )
    return asked


def _tell_nearest(edit: ChangeOpening, line: _Line, asked: _Asked, share: float) -> str:
    said = []
    if edit.to is not None:
        said.append(f"to = {line.long + share * (asked.long - line.long):.1f} mm")
    for key, amount, mm in (("along", edit.along, asked.along), ("down", edit.down, asked.down)):
        if amount is not None:
            said.append(f"{key} = {share * mm:.1f} mm")
    if edit.turn:
        said.append(f"turn = {share * edit.turn:.1f}°")
    return ", ".join(said)


def _say_words(edit: ChangeOpening, line: _Line, asked: _Asked) -> str:
    said = []
    if edit.to is not None:
        said.append(f"{line.long:.1f} mm to {asked.long:.1f} mm")
    if edit.along is not None:
        said.append(f"moved {asked.along:+.1f} mm along")
    if edit.down is not None:
        said.append(f"moved {asked.down:+.1f} mm down")
    if edit.turn:
        said.append(f"turned by {edit.turn:+g}°")
    return ", ".join(said)


def with_length(edit: ChangeOpening, pattern: PatternSet, sizes: Sequence[str]) -> PatternSet:
    """The set with the new length of a welt opening, where it says how long that is.

    Parameters
    ----------
    edit : ChangeOpening
    pattern : PatternSet
    sizes : sequence of str
        Those in which the edit is done.
    """
    opening = pattern.relations.welt_openings.get(edit.opening)
    if opening is None or opening.length is None or edit.to is None:
        return pattern
    base = pattern.base

    def long(size: str) -> float:
        return length(line_points(pattern.sized(opening.on, size), opening))

    said = {size: length_said(opening, size) or 0.0 for size in pattern.sizes}
    asked = dict(edit.to.sizes)
    for size in sizes:
        if size in asked or not edit.to.sizes:
            said[size] = amount_mm(edit.to, size, long(size), long(base), edit.graded)
    alike = len(set(said.values())) == 1
    fresh = Amount(mm=said[base]) if alike else Amount(sizes=tuple(said.items()))
    welts = {**pattern.relations.welt_openings, edit.opening: replace(opening, length=fresh)}
    return replace(pattern, relations=replace(pattern.relations, welt_openings=welts))
