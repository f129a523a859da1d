"""Keep a welt opening at its length, its angle and its distances, and its parts as long as it.

By hand its line is traced from the pattern as it was: laid on the new one by what it was measured
from.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import field

import numpy as np

from propagate.engine.compare import changed_edges
from propagate.engine.placing import with_inner_points
from propagate.engine.record import ChangeKind, Notice
from propagate.engine.reshape import rounded
from propagate.engine.state import State
from propagate.engine.welts.anchored import laid_by_anchors, measure_by_anchors
from propagate.engine.welts.room import bag_laid, measure_rooms
from propagate.engine.welts.sizes import opening_size
from propagate.engine.welts.stretching import stretch_span
from propagate.errors import Conflict
from propagate.geometry.motion import fit
from propagate.geometry.polyline import are_alike, length
from propagate.pattern.model import Array, SizedPiece
from propagate.pattern.relation_edges import anchors_of, line_node
from propagate.pattern.spans import span_length
from propagate.pattern.welts import WeltOpening, WeltPart, line_points, part_span, welt_points
from propagate.tolerances import DRAWN_MM, ON_LINE_MM, OPENING_ROOM_MM, RESTS_MM
from propagate.values import dataclass

__all__ = ["apply", "with_welt_points"]


_ROUNDS = 8
"""A curved edge that is stretched straight becomes longer by a little less than asked."""


def apply(state: State, opening: WeltOpening, cause: str) -> bool:
    """Lay the line by its measures, and make its parts as long as it; returns whether one moved.

    An edit that moves the line itself, or a drawing in which it lies elsewhere, says where it is.

    Raises
    ------
    Conflict
        When the line comes to cross the outline or a dart, or the mouth of its bag leaves the
        piece.
    """
    source = state.pattern.sized(opening.on, opening_size(state, opening))
    change, drawn = state.changes.get(line_node(opening)), state.given.pieces.get(opening.on)
    meant = change is not None and change.kind is ChangeKind.MARKED
    if not meant and drawn is not None and opening.on not in state.given.loose:
        was = line_points(state.pattern.sized(opening.on, state.job.size), opening)
        meant = not are_alike(was, line_points(drawn, opening), DRAWN_MM)
    moved = _with_its_marks(state, opening) if meant else _lay_line(state, opening, source, cause)
    _refuse_crossing(state, opening, source)
    for part in opening.parts:
        moved |= _follow_opening(state, opening, part, cause)
    # A bag whose mouth comes to leave the piece could be sewn to nothing there.
    now = state.lookup(opening.on)
    for part in opening.parts:
        if not part.bag:
            continue
        out = bag_laid(now, opening, part, state.lookup(part.piece)).mouth_out_mm
        if out <= ON_LINE_MM:
            continue
        old = bag_laid(source, opening, part, state.source(part.piece)).mouth_out_mm
        if old <= ON_LINE_MM:
            raise Conflict(
                f"{state.where}: the mouth of bag '{part.piece}' would leave '{opening.on}' "
                f"by {out:.1f} mm beside welt opening '{opening.name}'; make the change or "
                "the bag smaller, or move the opening with 'open'",
                causes=(f"'{opening.name}' keeps its distances", f"'{part.piece}.{part.edge}'"),
                distance_mm=out,
            )
    told = _Nearness(opening, state, source)
    if told not in state.notices:
        state.notices.append(told)
    return moved


def _with_its_marks(state: State, opening: WeltOpening) -> bool:
    """Take along what goes with a line that was moved alone."""
    now = state.lookup(opening.on)
    old = state.pattern.sized(opening.on, state.job.size)
    was, lies = welt_points(old, opening), welt_points(now, opening)
    count = len(line_points(old, opening))
    if was.shape != lies.shape or np.abs(was[count:] - lies[count:]).max(initial=0.0) > DRAWN_MM:
        return False
    motion, off = fit(was[:count], lies[:count])
    if off > DRAWN_MM or np.abs(was[:count] - lies[:count]).max() <= RESTS_MM:
        return False
    found = np.vstack([lies[:count], rounded(motion.apply(was[count:]))])
    state.pieces[opening.on] = with_welt_points(now, old, opening, found)
    return count < len(was)


def _lay_line(state: State, opening: WeltOpening, source: SizedPiece, cause: str) -> bool:
    """Lay the line where its measures are what they were."""
    now, names = state.lookup(opening.on), anchors_of(state.pattern, opening)
    line = line_points(source, opening)
    by = measure_by_anchors(source, line[[0, -1]], names, grain=opening.angle == "grain")
    found = laid_by_anchors(source, welt_points(source, opening), len(line), now, by)
    said = " and ".join(f"'{name}'" for name in names)
    if found is None:
        state.notice(
            opening.name,
            f"could not be laid at its distances from {said} of '{opening.on}' and stays where it "
            "was",
            "move its line, or measure it from something else",
        )
        return False
    if are_alike(welt_points(now, opening), found, RESTS_MM):
        return False
    state.pieces[opening.on] = with_welt_points(now, source, opening, rounded(found))
    state.change(
        f"welt opening {opening.name}",
        ChangeKind.PLACE_FOLLOWS,
        f"keeps its length, its angle and its distances from {said}",
        cause,
    )
    if not opening.anchors:
        listed = ", ".join(f'"{name}"' for name in names)
        state.notice(
            opening.name,
            "nothing is said of what it is measured from: it keeps its distances from the two "
            f"nearest edges, {said}",
            "look whether that is right, else say in the set what it is measured from",
            typed=f"from = [{listed}] or others",
        )
    return True


def with_welt_points(
    piece: SizedPiece, like: SizedPiece, opening: WeltOpening, points: Array
) -> SizedPiece:
    """A piece with the line of an opening and what goes with it at given points.

    Parameters
    ----------
    piece, like : SizedPiece
        `like` says how many points each line has.
    opening : WeltOpening
    points : (n, 2) array
        As `welt_points` lists them.
    """
    counts = {line.name: len(line.points) for line in like.lines}
    parts = [(name, counts.get(name)) for name in (opening.line, *opening.marks)]
    return with_inner_points(piece, parts, points)


def _refuse_crossing(state: State, opening: WeltOpening, source: SizedPiece) -> None:
    """Refuse an opening that comes to cross the outline or a dart."""
    names = anchors_of(state.pattern, opening)
    now = state.lookup(opening.on)
    crossed = {what: mm for what, mm in measure_rooms(now, opening, names).items() if mm < 0.0}
    was = measure_rooms(source, opening, names) if crossed else {}
    for what, mm in crossed.items():
        if was.get(what, 0.0) >= 0.0:
            raise Conflict(
                f"{state.where}: welt opening '{opening.name}' would cross {what} of "
                f"'{opening.on}' with {-mm:.1f} mm of its "
                f"{length(line_points(now, opening)):.1f} mm; make the change smaller, or the "
                "opening shorter or elsewhere with 'open'",
                causes=(f"'{opening.name}' keeps its distances", f"{what} of '{opening.on}'"),
                distance_mm=-mm,
            )


def _follow_opening(state: State, opening: WeltOpening, part: WeltPart, cause: str) -> bool:
    """Make a part longer or shorter by what the opening is longer or shorter."""
    span = part_span(part)
    if span.key in state.redrawn and part.piece not in state.given.loose:
        return False
    source, piece = state.source(part.piece), state.lookup(part.piece)
    was = length(line_points(state.pattern.sized(opening.on, state.size_of(part.piece)), opening))
    by = length(line_points(state.lookup(opening.on), opening)) - was
    wanted = span_length(source, span) + by
    fresh = piece
    for _ in range(_ROUNDS):
        off = wanted - span_length(fresh, span)
        if abs(off) <= RESTS_MM:
            break
        fresh = stretch_span(fresh, span, off)
    if fresh is piece:
        return False
    state.pieces[part.piece] = fresh
    text = f"made {abs(by):.1f} mm {'longer' if by > 0.0 else 'shorter'} with '{opening.name}'"
    for edge in changed_edges(piece, fresh):
        state.change(f"{part.piece}.{edge}", ChangeKind.MATCHED, text, cause)
    return True


@dataclass(frozen=True)
class _Nearness:
    """What is told, when somebody asks, of an opening that came near to something."""

    opening: WeltOpening
    state: State = field(compare=False)
    source: SizedPiece = field(compare=False)

    def __call__(self) -> tuple[Notice, ...]:
        """Warnings of how the opening lies in the end."""
        return (*self._near(), *self._bags())

    def _near(self) -> Iterator[Notice]:
        opening, names = self.opening, anchors_of(self.state.pattern, self.opening)
        was = measure_rooms(self.source, opening, names)
        for what, mm in measure_rooms(self.state.lookup(opening.on), opening, names).items():
            before = was.get(what, OPENING_ROOM_MM)
            if 0.0 <= mm < min(OPENING_ROOM_MM - RESTS_MM, before - RESTS_MM):
                yield Notice(
                    opening.name,
                    f"comes within {mm:.1f} mm of {what} of '{opening.on}', "
                    f"{OPENING_ROOM_MM - mm:.1f} mm nearer than the {OPENING_ROOM_MM:g} mm that "
                    "its welts need to lie flat",
                    "move the opening, or take narrower welts",
                    about=("near", what),
                )

    def _bags(self) -> Iterator[Notice]:
        opening, state = self.opening, self.state
        now = state.lookup(opening.on)
        for part in opening.parts:
            if not part.bag:
                continue
            old = bag_laid(self.source, opening, part, state.source(part.piece)).sticks_out_mm
            out = bag_laid(now, opening, part, state.lookup(part.piece)).sticks_out_mm
            if out > max(old, ON_LINE_MM) + RESTS_MM:
                yield Notice(
                    opening.name,
                    f"its bag '{part.piece}' sticks out of '{opening.on}' by {out:.1f} mm",
                    "make it smaller, or move the opening",
                    about=("bag sticks out", part.piece),
                )
