"""Let what is drawn inside a piece follow the piece's outline, whatever moved it.

One rule for every edit and every follower, after all edges have found their place: lines end on
what they ended on, parallels stay parallel, marks keep the distances that the set or the nest
gives them.  What has a relation of its own (buttons, the place of a patch) is left to that.  Of a
drawing that was sent, what it shows lies where it shows it; only lines that ended on the outline
still do.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from propagate.engine.inside.as_drawn import as_drawn
from propagate.engine.inside.contacts import Contact
from propagate.engine.inside.ends import end_line
from propagate.engine.inside.groups import (
    Group,
    group_points,
    groups_of,
    line_beside,
    owned_marks,
    tip_beside,
)
from propagate.engine.inside.measured import measured_from, moved_around, put_at_measures
from propagate.engine.inside.outline_move import OutlineMove
from propagate.engine.inside.parallels import parallel_again, runs_parallel
from propagate.engine.inside.telling import Told
from propagate.engine.record import EDIT, ChangeKind
from propagate.engine.reshape import rounded
from propagate.engine.state import State
from propagate.engine.strips_found import strip_of
from propagate.geometry.arrays import Array
from propagate.geometry.polyline import locate
from propagate.pattern.model import InternalLine, Mark, SizedPiece
from propagate.tolerances import RESTS_MM

__all__ = ["follow_inside", "piece_as_followed"]


def follow_inside(state: State) -> None:
    """Move inner lines and drill marks of every piece of which the outline moved."""
    for name in sorted(state.pieces):
        inside = _follow_outline(state, name)
        new = None if inside is None else inside.piece()
        if inside is not None and new is not None and new != state.pieces[name]:
            state.pieces[name] = new
            _note_followed(state, name, inside.move, new, inside.told)


def piece_as_followed(state: State, name: str) -> SizedPiece:
    """Return a piece as it stands, what lies inside it where it is when nothing else moves."""
    inside = _follow_outline(state, name) if name in state.pieces else None
    return state.lookup(name) if inside is None else inside.piece()


def _follow_outline(state: State, name: str) -> _Inside | None:
    """Let what lies inside a piece follow its outline; None where it stays."""
    was, now = state.source(name), state.pieces[name]
    if not (now.lines or now.drills):
        return None
    move = OutlineMove(was, now)
    if move.stays:
        return None
    inside = _Inside(state, name, move)
    inside.follow()
    return inside


class _Inside:
    """What lies inside one piece, while it follows."""

    def __init__(self, state: State, name: str, move: OutlineMove) -> None:
        self.told = Told()
        self.move = move
        self._drawn = as_drawn(state.pattern, name, state.size_of(name))
        self._shown = state.given.shown.get(name, frozenset())
        owned = owned_marks(state.pattern, name, move.now)
        self._placed = _is_placed(state, name)
        self._was = {line.name: line.points for line in move.was.lines}
        self._lines = {line.name: line.points for line in move.now.lines}
        self._drills = {mark.name: np.array([mark.point]) for mark in move.now.drills}
        drills = {mark.name: np.array([mark.point]) for mark in move.was.drills}
        left = {n for n in self._was if f"{name}.{n}" in state.given.left}
        self._own = [n for n in self._lines if n in self._was and n not in owned | left]
        self._marks = [
            n
            for n, at in drills.items()
            if not self._placed
            and n not in owned
            and n not in self._shown
            and n in self._drills
            and np.array_equal(at, self._drills[n])
        ]
        self._shifts: dict[str, Array] = {}
        self._beside: set[str] = set()

    def follow(self) -> None:
        """Let lines follow first, those that end on other lines after these; then marks."""
        rests = {n: self._drawn.contacts[n] for n in self._own}
        ordered = sorted(self._own, key=lambda n: any(c.kind == "line" for c in rests[n]))
        for name in ordered:
            self._follow_line(name, rests[name])
        self._follow_darts()
        free = [n for n in ordered if self._is_free(n, rests[n])]
        self._place(groups_of(self.move.was, free, self._marks))

    def piece(self) -> SizedPiece:
        """Return the piece with what lies inside it where it belongs."""
        now = self.move.now
        lines = (
            line if (p := self._lines[line.name]) is line.points else InternalLine(line.name, p)
            for line in now.lines
        )
        drills = (
            Mark(mark.name, (float(x), float(y)))
            for mark in now.drills
            for x, y in self._drills[mark.name]
        )
        return replace(now, lines=tuple(lines), drills=tuple(drills))

    def _is_moved(self, name: str) -> bool:
        return not np.array_equal(self._was[name], self._lines[name])

    def _is_free(self, name: str, contacts: tuple[Contact, Contact]) -> bool:
        """Tell whether a line rests on nothing, and nothing has moved it so far."""
        free = all(contact.kind == "free" for contact in contacts)
        kept = self._placed or name in self._shown or self._is_moved(name) or name in self._beside
        return free and not kept

    def _follow_line(self, name: str, contacts: tuple[Contact, Contact]) -> None:
        if name in self._shown and self._is_moved(name):
            return
        if name not in self._shown and self._follow_parallel(name, contacts):
            return
        others = {n: points for n, points in self._lines.items() if n != name}
        ended = end_line(self.move, self._lines[name], contacts, others)
        self._lines[name] = ended.points
        if ended.shift is not None:
            self._shifts[name] = ended.shift
        for was, now in ended.other:
            self.told.cut_off(name, was, now)

    def _follow_parallel(self, name: str, contacts: tuple[Contact, Contact]) -> bool:
        """Draw a line anew that is parallel to an edge that moved; whether that was done."""
        to = self._drawn.parallel(name)
        free = all(contact.kind == "free" for contact in contacts)
        if to is None or (free and not to.along):
            return False
        self._beside.add(name)
        points, changed = self._lines[name], not self.move.changed.isdisjoint(to.edges)
        if (self._placed or self._is_moved(name)) and not to.same:
            return False
        ends = zip((0, -1), contacts, strict=True)
        inside = all(c.kind != "free" or self.move.covers(points[end]) for end, c in ends)
        runs = not changed or runs_parallel(self.move.now, points, to)
        if inside and runs and not (changed and self._is_short(points, contacts)):
            return False
        new = parallel_again(self.move, points, to, contacts)
        if new is None:
            return False
        self._lines[name] = new
        if changed:
            self.told.parallel(name, to.edges)
        return True

    def _is_short(self, points: Array, contacts: tuple[Contact, Contact]) -> bool:
        """Tell whether a line has to be run on to the edge that it ended on."""
        return any(
            contact.kind == "edge"
            and self.move.covers(points[end])
            and locate(self.move.now.edge(contact.name).points, points[end])[1]
            > max(RESTS_MM, contact.gap)
            for end, contact in zip((0, -1), contacts, strict=True)
        )

    def _follow_darts(self) -> None:
        """Move drill marks at the tip of a dart with it, those beside a line with that."""
        was, now = self.move.points
        for name in list(self._marks):
            dart = f"dart {tip_beside(self.move.was, name)}"
            line = line_beside(self.move.was, name)
            if dart in was and dart in now:
                shift = now[dart] - was[dart]
            elif line in self._shifts:
                shift = self._shifts[line]
            else:
                continue
            self._marks.remove(name)
            if np.hypot(*shift) > RESTS_MM:
                self._drills[name] = rounded(self._drills[name] + shift)

    def _place(self, groups: Iterable[Group]) -> None:
        """Put groups at their distances; those that have none go with the piece, all alike."""
        untold: dict[Group, Array] = {}
        for group in groups:
            points = group_points(self.move.was, group)
            if points is None:
                continue
            nest = [(piece, group_points(piece, group)) for piece in self._drawn.others]
            others = [(piece, theirs) for piece, theirs in nest if theirs is not None]
            by = measured_from(self.move.was, points, others)
            new = put_at_measures(self.move, points, by) if by else None
            if new is None:
                untold[group] = points
            elif self._put(group, points, new):
                self.told.measured(group.names, [one.edge for one in by])
        if untold:
            middle = np.mean([points.mean(axis=0) for points in untold.values()], axis=0)
            shift = moved_around(self.move, middle)
            for group, points in untold.items():
                if self._put(group, points, points + shift):
                    self.told.around(group.names)

    def _put(self, group: Group, points: Array, new: Array) -> bool:
        """Put a group at new places; False, and nothing done, where it lies there."""
        if np.abs(new - points).max() <= RESTS_MM:
            return False
        new = rounded(new)
        count = 0 if group.line is None else len(self._was[group.line])
        if group.line is not None:
            self._lines[group.line] = new[:count]
        for name, point in zip(group.drills, new[count:], strict=True):
            self._drills[name] = point[None]
        return True


def _is_placed(state: State, name: str) -> bool:
    """Tell whether an edit or a relation says where everything goes that lies inside a piece."""
    relations = state.pattern.relations
    bands = {band.piece for band in relations.bands.values()}
    return (
        name in state.given.placed
        or name in bands
        or name in relations.derived
        or strip_of(state.pattern, name) is not None
    )


def _note_followed(state: State, name: str, move: OutlineMove, new: SizedPiece, told: Told) -> None:
    """Say what followed, and what was taken as measured from what."""
    edges = (f"{name}.{edge.name}" for edge in move.was.edges if edge.name in move.changed)
    cause = next((key for key in edges if key in state.changes), EDIT)
    was: dict[str, Mark | InternalLine] = {mark.name: mark for mark in move.now.drills}
    was.update({line.name: line for line in move.now.lines})
    now: list[Mark | InternalLine] = [*new.lines, *new.drills]
    for item in now:
        if item == was[item.name]:
            continue
        kind = "line" if isinstance(item, InternalLine) else "mark"
        what = f"follows the outline{told.of(item.name)}"
        node = f"{kind} '{item.name}' of {name}"
        state.change(node, ChangeKind.PLACE_FOLLOWS, what, cause)
    for found, do in told.notices():
        state.notice(name, found, do)
