"""Which line is the grain of a piece, where no arrow head, class or name says it.

A straight line inside, near a text that says grain; else the one that lies parallel to one inside
every other piece; on a sheet of one piece, its only line inside (common practice, no source: the
pieces of a sheet are laid along the grain, and nothing else is drawn alike in all of them).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
import shapely

from propagate.geometry.corner import turn_between
from propagate.geometry.polyline import is_straight
from propagate.io.drawn_lines import DrawnText
from propagate.io.options import ReadOptions
from propagate.io.report import ReportNotes
from propagate.io.sheet.texts import say_grain, texts_on
from propagate.io.svg.drawing import Shape
from propagate.io.svg.figures import ON_OUTLINE_MM, SHORTEST_SHAFT_MM
from propagate.io.svg.marks import Place, Sorted, sort_marks
from propagate.io.svg.roles import role_of
from propagate.io.svg.sorting import DrawnPiece
from propagate.pattern.grain import Grain
from propagate.pattern.model import Array
from propagate.values import dataclass

__all__ = ["Marked", "mark_pieces"]

PARALLEL_DEG = 0.5
"""Grain lines of a sheet are drawn along it, to a hair."""
NEAR_TEXT_MM = 15.0
_BY_TEXT = "a straight line inside a piece, beside a text that says grain, is the grain"
_ALIKE = "a straight line inside each piece, parallel to those of the others, is the grain"
_ALONE = "the only line inside the piece, a straight one, is the grain"


@dataclass(frozen=True, eq=False)
class Marked:
    """What is drawn on a piece in one size, sorted, and where that is told for now."""

    marks: Sorted
    place: Place


def mark_pieces(
    pieces: Mapping[str, Mapping[str, DrawnPiece]],
    files: Mapping[str, str],
    texts: Sequence[DrawnText],
    base: str,
    options: ReadOptions,
) -> dict[str, dict[str, Marked]]:
    """Sort what is drawn on the pieces, and find grain lines that are plain lines.

    Parameters
    ----------
    pieces : mapping of piece name to a mapping of size to what is drawn
    files : mapping of size to the file it is in
    texts : sequence of DrawnText
        Those beside the lines of the base size.

    Returns
    -------
    mapping of piece name to a mapping of size to Marked
        Without a grain where no line is one.
    """
    found: dict[str, dict[str, Marked]] = {}
    for name, sizes in pieces.items():
        found[name] = {}
        for size, drawn in sizes.items():
            place = Place(ReportNotes(), files[size], name, size)
            marks = sort_marks(drawn.shapes, drawn.ring.points, options, place)
            found[name][size] = Marked(marks, place)
    lacking = [name for name, sizes in found.items() if not _has_grain(sizes)]
    if not lacking:
        return found
    plain = {
        name: {
            size: _find_plain(one.marks, pieces[name][size]) for size, one in found[name].items()
        }
        for name in lacking
    }
    areas = {k: pieces[name][base].ring.polygon for k, name in enumerate(lacking)}
    for k, held in texts_on(texts, areas).items():
        name = lacking[k]
        line = _find_beside(plain[name][base], [text for text in held if say_grain(text)])
        if line is not None:
            _take_line(found[name], plain[name], _turn_of(line), _BY_TEXT)
    _take_alike(found, plain, base)
    return found


def _has_grain(sizes: Mapping[str, Marked]) -> bool:
    return any(one.marks.grain is not None for one in sizes.values())


def _find_plain(marks: Sorted, drawn: DrawnPiece) -> list[Shape]:
    """Straight lines inside a piece that nothing names, clear of its outline."""
    ring = shapely.LinearRing(drawn.ring.points)
    shapely.prepare(ring)
    return [
        shape
        for shape in marks.lines
        if role_of(shape) == "unknown"
        and not shape.chain.closed
        and math.dist(shape.chain.start, shape.chain.end) >= SHORTEST_SHAFT_MM
        and is_straight(shape.chain.points)
        and not shapely.dwithin(ring, shapely.LineString(shape.chain.points), ON_OUTLINE_MM)
    ]


def _find_beside(lines: Sequence[Shape], texts: Sequence[DrawnText]) -> Shape | None:
    """The line next to a text, if one is near."""
    near = []
    for text in texts:
        turn, long = math.radians(text.angle), text.width or 0.6 * text.height * len(text.text)
        end = (text.at[0] + long * math.cos(turn), text.at[1] + long * math.sin(turn))
        words = shapely.LineString([text.at, end])
        for k, shape in enumerate(lines):
            gap = float(words.distance(shapely.LineString(shape.chain.points)))
            near.append((round(gap, 3), -round(shape.chain.length, 3), k))
    gap, _, k = min(near, default=(math.inf, 0.0, 0))
    return lines[k] if gap <= NEAR_TEXT_MM else None


def _take_alike(
    found: Mapping[str, dict[str, Marked]],
    plain: Mapping[str, Mapping[str, list[Shape]]],
    base: str,
) -> None:
    """Take the one line of each piece that lies along one direction of the sheet."""
    lacking = [name for name in plain if not _has_grain(found[name])]
    if not lacking:
        return
    first = lacking[0]
    if len(found) == 1:
        (line,) = plain[first][base] if len(plain[first][base]) == 1 else (None,)
        if line is not None and len(found[first][base].marks.lines) == 1:
            _take_line(found[first], plain[first], _turn_of(line), _ALONE)
        return
    others = [
        np.asarray(grain.direction)
        for name, sizes in found.items()
        if name not in lacking and (grain := sizes[base].marks.grain) is not None
    ]
    ways = []
    for line in plain[first][base]:
        way = _turn_of(line)
        along = all(len(_list_along(plain[name][base], way)) == 1 for name in lacking)
        if along and all(_are_parallel(way, other) for other in others):
            ways.append(way)
    if len(ways) == 1:
        for name in lacking:
            _take_line(found[name], plain[name], ways[0], _ALIKE)


def _take_line(
    sizes: Mapping[str, Marked],
    plain: Mapping[str, Sequence[Shape]],
    way: Array,
    words: str,
) -> None:
    """Take the line along a direction for the grain, where there is one in every size."""
    lines = {size: _list_along(plain[size], way) for size in sizes}
    if any(len(one) != 1 for one in lines.values()):
        return
    for size, one in sizes.items():
        (line,) = lines[size]
        one.marks.grain = _draw_up(line)
        one.marks.lines.remove(line)
        one.place.note("assumed", words)


def _draw_up(line: Shape) -> Grain:
    """The grain along a line, up the page as an arrow would be, else to its right."""
    low, high = sorted((line.chain.start, line.chain.end), key=lambda at: (at[1], at[0]))
    if abs(high[1] - low[1]) <= abs(high[0] - low[0]) * math.tan(math.radians(PARALLEL_DEG)):
        low, high = sorted((low, high))
    return Grain(low, high)


def _turn_of(line: Shape) -> Array:
    return np.subtract(line.chain.end, line.chain.start)


def _list_along(lines: Sequence[Shape], way: Array) -> list[Shape]:
    return [line for line in lines if _are_parallel(_turn_of(line), way)]


def _are_parallel(one: Array, other: Array) -> bool:
    turn = abs(math.degrees(float(turn_between(one, other))))
    return min(turn, 180.0 - turn) <= PARALLEL_DEG
