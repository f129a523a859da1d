"""The region of a main piece that a derived piece is: its lines, and the corners between them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from propagate.engine.derived.cut_lines import cuts_of
from propagate.engine.derived.folds import fold_rows
from propagate.engine.derived.lines import (
    MainLine,
    beside_line,
    darts_on,
    inner_line,
    main_line,
    refuse_derived,
)
from propagate.engine.tape import Silhouette, tape_pieces
from propagate.geometry.arrays import Array
from propagate.geometry.crossing import crossings
from propagate.geometry.polyline import length, locate, nearest_point, point_at
from propagate.pattern.derived import Derived, DerivedEdge, is_wide, width_in_size
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.tolerances import ON_LINE_MM, SAME_POINT_MM
from propagate.values import dataclass

__all__ = ["Region", "common_places", "corners_in_darts", "region_of"]

_SHARP = 4.0
"""A corner as sharp as 29 degrees asks that a line is run on by this many times a width."""
_SLACK_MM = 1.0
_SHORT_MM = 25.0
"""An inner line may be drawn shorter by so much than the edge that it meets is far."""


@dataclass(frozen=True, eq=False)
class Region:
    """What the definition of a derived piece says, in the frame of its main piece.

    Attributes
    ----------
    where : str
        The piece and the size, for messages.
    taped : Silhouette
        The main piece.
    lines : tuple of MainLine or None
        For each edge of the derived piece, round its outline; None where it is free.
    corners : tuple of (2,) array or None
        Where each edge starts; None where that is up to a free edge.
    """

    where: str
    taped: Silhouette
    lines: tuple[MainLine | None, ...]
    corners: tuple[Array | None, ...]

    @property
    def reach(self) -> float:
        """How far the lines may have to be run on for their corners, mm."""
        far = (max(abs(line.width), line.out) for line in self.lines if line is not None)
        return 2.0 * _SHARP * max(far) + self._slack

    @property
    def stands_out(self) -> float:
        """How far marks may lie beyond the end of a line, where the piece is larger, mm."""
        out = (line.out for line in self.lines if line is not None)
        return 2.0 * max(*out, 0.0) + self._slack

    @property
    def _slack(self) -> float:
        inner = any(line.inner for line in self.lines if line is not None)
        return _SLACK_MM + (_SHORT_MM if inner else 0.0)


def region_of(
    pattern: PatternSet, derived: Derived, lookup: Callable[[str], SizedPiece], size: str
) -> Region:
    """Return the region that a derived piece is by its definition.

    Parameters
    ----------
    lookup : callable
        Returns a piece as it stands.
    size : str
        Named in errors.

    Raises
    ------
    EditError
        When two of its lines do not meet, or meet twice: it would be empty or in two parts.
    """
    where = f"'{derived.piece}', size {size}"
    taped = tape_pieces(pattern, derived.of, lookup, size)
    said = {one.edge: one for one in derived.edges}
    names = lookup(derived.piece).edge_names
    rows = [said.get(name) for name in names]
    folds = fold_rows(where, taped, rows, derived.closed_edges)
    cuts = cuts_of(where, pattern, taped, rows, derived.closed_edges)

    def line_of(i: int, row: DerivedEdge) -> MainLine:
        if row.line:
            return inner_line(taped, row.line, 0.0, folds.motions[i])
        width = width_in_size(row.out, size) - width_in_size(row.inside, size)
        closed, motion = folds.closed.get(row.on), folds.motions[i]
        if not row.from_cut:
            return main_line(taped, row.on, width, closed, motion)
        allowance, stretch = cuts.allowances[row.on], cuts.stretches.get(row.on)
        if stretch is not None:
            return beside_line(taped, row.on, stretch, allowance, width, motion)
        line = main_line(taped, row.on, width + allowance, closed, motion)
        return replace(line, allowance=0.0) if cuts.stretches else line

    lines = tuple(None if row is None else line_of(i, row) for i, row in enumerate(rows))
    for i, (row, line) in enumerate(zip(rows, lines, strict=True)):
        if row is not None and line is not None and row.line and is_wide(row):
            out = width_in_size(row.out, size) - width_in_size(row.inside, size)
            way = _way_along(where, i, names, rows, lines)
            beside = replace(line, width=-out if (way < 0.0) != derived.face_down else out)
            lines = (*lines[:i], beside, *lines[i + 1 :])
    return Region(
        where,
        taped,
        lines,
        tuple(_corner_at(where, i, names, rows, lines) for i in range(len(names))),
    )


def _way_along(
    where: str,
    i: int,
    names: Sequence[str],
    rows: Sequence[DerivedEdge | None],
    lines: Sequence[MainLine | None],
) -> float:
    """Measure how far an edge runs along its inner line (above 0) or against it, mm."""
    line, next_to = lines[i], (i + 1) % len(names)
    assert line is not None
    on_line = [
        None if one is None else replace(one, width=0.0) if k == i else one
        for k, one in enumerate(lines)
    ]
    ends = [_corner_at(where, k, names, rows, on_line) for k in (i, next_to)]
    if ends[0] is None or ends[1] is None:
        raise refuse_derived(
            where,
            f"'{names[i]}' lies beside a line and meets a free edge, so that it is not told on "
            "which side; say 'start' and 'end', or leave 'out' and 'in' out",
        )
    long = line.run_on(_SLACK_MM + _SHORT_MM, base=True)
    return locate(long, ends[1])[0] - locate(long, ends[0])[0]


def _corner_at(
    where: str,
    i: int,
    names: Sequence[str],
    rows: Sequence[DerivedEdge | None],
    lines: Sequence[MainLine | None],
) -> Array | None:
    """Tell where an edge starts; None where a free edge says so."""
    before, after = lines[i - 1], lines[i]
    if before is not None and after is not None:
        return _meet_lines(where, (names[i - 1], names[i]), before, after)
    ended, started = rows[i - 1], rows[i]
    for line, mark in (
        (before, None if ended is None else ended.end),
        (after, None if started is None else started.start),
    ):
        if line is not None and mark is not None:
            return nearest_point(line.points, point_at(line.base, line.places[mark]))
    return None


def _meet_lines(where: str, names: tuple[str, str], before: MainLine, after: MainLine) -> Array:
    """Find the corner of two lines: where they cross with the least of them run on."""
    ends = [line.points[[0, -1]] for line in (before, after)]
    for one in ends[0]:
        gaps = np.hypot(*(ends[1] - one).T)
        if gaps.min() <= SAME_POINT_MM:
            return np.array(one)
    reach = _limit_reach(before, after), _limit_reach(after, before)
    long = [line.run_on(by) for line, by in zip((before, after), reach, strict=True)]
    hits = crossings(*long)
    if not len(hits):
        raise refuse_derived(
            where,
            f"'{names[0]}' and '{names[1]}' do not meet, so that nothing lies between its lines; "
            "expected widths that fit on the main piece",
        )
    beyond = np.zeros(len(hits))
    for k, (line, by) in enumerate(zip(long, reach, strict=True)):
        far = length(line) - by
        beyond += np.maximum(np.maximum(by - hits[:, k], hits[:, k] - far), 0.0)
    least = np.flatnonzero(beyond <= beyond.min() + ON_LINE_MM)
    corner = point_at(long[0], float(hits[least[0], 0]))
    others = [point_at(long[0], float(hits[i, 0])) for i in least[1:]]
    if any(np.hypot(*(other - corner)) > ON_LINE_MM for other in others):
        raise refuse_derived(
            where,
            f"'{names[0]}' and '{names[1]}' cross {len(least)} times, so that it is in two parts; "
            "expected one region: make it narrower, or divide the piece",
        )
    return corner


def _limit_reach(line: MainLine, other: MainLine) -> float:
    """Tell how far a line may be run on to meet another, mm."""
    short = _SHORT_MM if line.inner else 0.0
    return _SHARP * (abs(line.width) + max(other.out, 0.0)) + _SLACK_MM + short


def corners_in_darts(derived: Derived, region: Region, names: Sequence[str]) -> tuple[str, ...]:
    """Return edges of the main piece on which a corner lies between the legs of a dart left open.

    Parameters
    ----------
    names : sequence of str
        Edges of the derived piece, round its outline.
    """
    said = {one.edge: one.on for one in derived.edges}
    corners = (*region.corners, region.corners[0])
    found = []
    for i, line in enumerate(region.lines):
        on = said.get(names[i])
        if line is None or on is None or on in derived.closed_edges:
            continue
        ends = [locate(line.base, end)[0] for end in corners[i : i + 2] if end is not None]
        mouths = darts_on(region.taped, on)
        if any(low + ON_LINE_MM < at < high - ON_LINE_MM for low, high, _ in mouths for at in ends):
            found.append(on)
    return tuple(dict.fromkeys(found))


def common_places(old: MainLine, new: MainLine) -> tuple[Mapping[str, float], Mapping[str, float]]:
    """Return the marks that a line of the main piece has before and after."""
    both = [name for name in old.places if name in new.places]
    return {n: old.places[n] for n in both}, {n: new.places[n] for n in both}
