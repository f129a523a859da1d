"""Lengthen or shorten pieces at levels: the line across them, cut and spread or lapped.

By hand a piece is cut along the level, its halves are moved apart along the grain, and the
edges are trued across the gap.  Here the movement begins a little before the level and is
whole a little behind it, so that an edge runs on smoothly without more truing: what lies at
one height moves alike on every piece, and so the two sides of a seam stay alike.
"""

from __future__ import annotations

from dataclasses import field, replace
from typing import ClassVar

import numpy as np

from propagate.engine.compare import changed_edges
from propagate.engine.edits.sized import SizedEdit
from propagate.engine.job import Drawn, Given, Job
from propagate.engine.marks_on_lines import End, nearest_place, put_mark, walked_place
from propagate.engine.record import EDIT, Change, ChangeKind
from propagate.engine.reshape import rounded
from propagate.engine.tape import edge_from_parts
from propagate.errors import EditError, UnknownName
from propagate.geometry.densify import densify_smoothly
from propagate.geometry.fade import smoothstep
from propagate.geometry.polyline import as_pair, is_straight
from propagate.pattern.amount import Amount, amount_divided, amount_words
from propagate.pattern.info import PieceInfo
from propagate.pattern.model import Array, Edge, Mark, SizedPiece
from propagate.pattern.told import told
from propagate.tolerances import STEP_MM
from propagate.values import dataclass

__all__ = ["Lengthen", "Shorten"]


_LEAST_ZONE_MM = 30.0
"""Half of the stretch over which the movement sets in; it grows with what is moved."""
_AT_LEVEL_MM = 1.0
"""A mark this close to the height of a level marks it."""
_ZONE_RATIO = 2.0
"""At 3/4 an edge that is shortened would stand still somewhere, below that fold back."""


@dataclass(frozen=True, kw_only=True)
class Lengthen(SizedEdit):
    """The edit: every piece with a level becomes longer there.

    Attributes
    ----------
    level : str or tuple of str
        At several levels, as if one edit after the other were done.
    by : Amount or tuple of Amount
        One for each level; one alone is divided, the same at each of them.  A share is of the
        height before any of it.
    pieces : tuple of str
        Pieces to lengthen; all that have one of the levels when empty.
    """

    word: ClassVar[str] = "lengthen"
    way: ClassVar[float] = 1.0

    level: str | tuple[str, ...] = field(
        metadata=told("levels", "the level at which the pieces are cut across, or several")
    )
    by: Amount | tuple[Amount, ...] = field(
        metadata=told(
            "amounts",
            "by how much, at each level or, said once, at all of them together; a share is of the "
            "height of the tallest piece",
        )
    )
    pieces: tuple[str, ...] = field(
        default=(), metadata=told("texts", "these pieces alone; all that have a level of it else")
    )

    @property
    def levels(self) -> tuple[str, ...]:
        """The levels at which the pieces are cut, in order."""
        return (self.level,) if isinstance(self.level, str) else self.level

    def draw(self, job: Job) -> Drawn:
        """Move what lies beyond each level along the grain; raises UnknownName, EditError."""
        cuts = [self._cut(job, level, by) for level, by in self._amounts(job)]
        names = sorted({name for cut in cuts for name in cut.names})
        old = {name: job.pattern.sized(name, job.size) for name in names}
        new = dict(old)
        changes: dict[str, list[str]] = {}
        for cut in cuts:
            for name in cut.names:
                was = new[name]
                new[name] = _lengthen_piece(job, name, was, cut.level, cut.by)
                for edge in changed_edges(was, new[name]):
                    changes.setdefault(f"{name}.{edge}", []).append(cut.said)
        verb = "lengthened" if self.way > 0 else "shortened"
        rows = [{"level": cut.level, "by_mm": abs(cut.by), "pieces": cut.names} for cut in cuts]
        return Drawn(
            said=f"{', '.join(names)} {verb} {' and '.join(cut.said for cut in cuts)}",
            words=self.words(job, names, **({"levels": rows} if len(rows) > 1 else {})),
            changes=tuple(
                Change(node, ChangeKind.DRAWN, f"{verb} {' and '.join(said)}", EDIT)
                for node, said in changes.items()
            ),
            given=Given(new, loose=frozenset(new), placed=frozenset(new)),
        )

    def _amounts(self, job: Job) -> list[tuple[str, Amount]]:
        """Each level with its amount; raises EditError."""
        levels = self.levels
        said = (self.by,) if isinstance(self.by, Amount) else self.by
        where = self.where(job.pattern)
        if not levels or len(set(levels)) < len(levels):
            raise EditError(
                f"{where}: found levels {', '.join(levels) or 'none'}, expected at least one, each "
                "once; give a level all of its amount"
            )
        if len(said) == 1 < len(levels):
            said = tuple(amount_divided(said[0], len(levels)) for _ in levels)
        if len(said) != len(levels):
            raise EditError(
                f"{where}: found {len(said)} amounts for {len(levels)} levels, expected one for "
                "each, or one that is divided among them"
            )
        for one in said:
            self.refuse_sign(job, "by", one)
        return list(zip(levels, said, strict=True))

    def _cut(self, job: Job, level: str, by: Amount) -> _Cut:
        names = _choose_pieces(job, self, level)

        def height(size: str) -> float:  # of the tallest of them, along the grain
            pieces = (job.pattern.sized(name, size) for name in names)
            return max(float(np.ptp(piece.outline @ piece.grain.direction)) for piece in pieces)

        mm = self.way * self.amount(job, by, height)
        return _Cut(level, names, mm, f"by {amount_words(by)} at level '{level}'")


@dataclass(frozen=True, kw_only=True)
class Shorten(Lengthen):
    """The edit: every piece with a level becomes shorter there; see `Lengthen`."""

    word: ClassVar[str] = "shorten"
    way: ClassVar[float] = -1.0


@dataclass(frozen=True)
class _Cut:
    """A level at which some pieces are cut across, by how much they open there, in words."""

    level: str
    names: list[str]
    by: float
    said: str


def _choose_pieces(job: Job, edit: Lengthen, level: str) -> list[str]:
    """The pieces that have a level, or those of them that were asked for."""
    pattern = job.pattern
    every = sorted(pattern.pieces)
    having = [name for name in every if level in pattern.sized(name, job.size).levels]
    if not having:
        levels = sorted({n for name in every for n in pattern.sized(name, job.size).levels})
        raise UnknownName("level", level, levels, f"set '{pattern.name}'")
    lacking = [name for name in edit.pieces if name not in having]
    for name in lacking:
        others = set(edit.levels) & set(pattern.piece(name).at(job.size).levels)
        if others and len(lacking) < len(edit.pieces):
            continue  # it is cut at another of the levels
        raise EditError(
            f"set '{pattern.name}', piece '{name}', size '{job.size}': found no level "
            f"'{level}', expected one of {', '.join(having)}; name another piece"
        )
    asked = [name for name in edit.pieces if name in having] or having
    found = []
    for name in asked:
        piece = pattern.sized(name, job.size)
        heights = piece.outline @ piece.grain.direction
        at = float(np.dot(piece.levels[level], piece.grain.direction))
        if heights.min() + 1.0 < at < heights.max() - 1.0:
            found.append(name)
    if not found:
        raise EditError(
            f"set '{pattern.name}', size '{job.size}': found level '{level}' at the end of "
            f"{', '.join(asked)}, expected one with something of the piece on both sides of it; "
            "choose another level, or raise or lower the edge there"
        )
    return found


@dataclass(frozen=True)
class _Movement:
    """What lies beyond a height along a direction moves along it.

    `direction` points to the part that moves; `height` is measured along it.
    """

    direction: Array
    height: float
    zone: float
    by: float

    def of(self, points: Array) -> Array:
        """(n, 2) movement of points."""
        share = (points @ self.direction - self.height + self.zone) / (2 * self.zone)
        return np.outer(smoothstep(share) * self.by, self.direction)

    def crosses(self, points: Array) -> bool:
        """Whether points lie in the stretch in which the movement sets in."""
        away = points @ self.direction - self.height
        return bool((away.min() < self.zone) and (away.max() > -self.zone))


def _find_movement(job: Job, name: str, piece: SizedPiece, level: str, by: float) -> _Movement:
    """The part on the far side of the lay level moves; at that level itself the lower one."""
    grain = piece.grain.direction
    at = float(np.dot(piece.levels[level], grain))
    lay = piece.levels.get(job.pattern.lay_on)
    above = 1.0 if lay is None else float(np.dot(lay, grain)) - at
    direction = grain if above < -1e-6 else -grain
    height = float(np.dot(piece.levels[level], direction))
    where = job.where(name)
    zone = max(_LEAST_ZONE_MM, _ZONE_RATIO * abs(by))
    reach = piece.outline @ direction - height
    room = min(float(reach.max()), float(-reach.min()))
    if by < 0 and room < abs(by) * _ZONE_RATIO:
        raise EditError(
            f"{where}: found {room:.1f} mm of it beside level '{level}', expected at least "
            f"{abs(by) * _ZONE_RATIO:.1f} mm to take {abs(by):g} mm out; "
            "choose another level or a smaller length"
        )
    zone = min(zone, max(room, abs(by)))
    move = _Movement(direction, height, zone, by)
    for opening in job.pattern.relations.openings.values():
        if opening.piece == name and move.crosses(piece.edge(opening.edge).points):
            raise EditError(
                f"{where}: level '{level}' runs within {zone:.0f} mm of opening "
                f"'{opening.name}', whose length does not change; choose a level clear of it"
            )
    return move


def _lengthen_piece(job: Job, name: str, piece: SizedPiece, level: str, by: float) -> SizedPiece:
    move = _find_movement(job, name, piece, level, by)

    def put(point: tuple[float, float]) -> tuple[float, float]:
        shift = move.of(np.array([point]))[0]
        if not shift.any():
            return point
        return as_pair(rounded(np.asarray(point) + shift))

    edges = tuple(_moved_edge(edge, move) for edge in piece.edges)
    new = replace(
        piece,
        edges=edges,
        darts=tuple(replace(dart, tip=put(dart.tip)) for dart in piece.darts),
        lines=tuple(
            replace(line, points=rounded(line.points + move.of(line.points)))
            if move.of(line.points).any()
            else line
            for line in piece.lines
        ),
        drills=tuple(Mark(mark.name, put(mark.point)) for mark in piece.drills),
        levels={n: put(p) if n != level else p for n, p in piece.levels.items()},
    )
    kept, marks = _kept_from_end(job.pattern.info[name], piece), []
    for mark in piece.landmarks:
        edge, point = new.edge(mark.edge), put(mark.point)
        if mark.name in kept and kept[mark.name][0] < edge.length:
            marks.append(put_mark(mark, edge, walked_place(edge, *kept[mark.name])))
        elif point == mark.point:
            marks.append(mark)
        else:
            marks.append(put_mark(mark, edge, nearest_place(edge, point)))
    return replace(new, landmarks=tuple(marks))


def _kept_from_end(info: PieceInfo, piece: SizedPiece) -> dict[str, tuple[float, End]]:
    """Marks that keep their distance from an end of their edge: how far, and from which.

    A fly and a zip are as long as they were.  One that marks a level goes with its level.
    """
    grain = piece.grain.direction
    heights = [float(np.dot(point, grain)) for point in piece.levels.values()]
    kept: dict[str, tuple[float, End]] = {}
    for mark in piece.landmarks:
        edge, _, end = info.anchors.get(mark.name, "").rpartition(".")
        at = float(np.dot(mark.point, grain))
        if edge != mark.edge or any(abs(at - height) <= _AT_LEVEL_MM for height in heights):
            continue
        place = piece.distance(edge, mark.name)
        if end == "end":
            kept[mark.name] = piece.edge(edge).length - place, "end"
        else:
            kept[mark.name] = place, "start"
    return kept


def _moved_edge(edge: Edge, move: _Movement) -> Edge:
    """An edge as it is moved, with more points where the movement sets in."""
    if not move.of(edge.points).any() and not move.crosses(edge.points):
        return edge
    points = edge.points
    if move.crosses(points):
        dense = densify_smoothly(points, STEP_MM)
        away = dense @ move.direction - move.height
        own = (dense[:, None] == points[None]).all(axis=2).any(axis=1)
        points = np.asarray(dense[own | (np.abs(away) < move.zone)])
    if is_straight(points + move.of(points)):
        points = edge.points  # along the grain: it stays straight, and needs no more points
    shift = move.of(points)
    if not shift.any():
        return edge
    new = np.where((shift == 0.0).all(axis=1)[:, None], points, rounded(points + shift))
    corners = edge.turn_points
    return edge_from_parts(edge.name, [new], rounded(corners + move.of(corners)))
