"""Put the pages of a tiled print together: lines cut at borders become whole again."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import chain, pairwise, product

import numpy as np
import shapely

from propagate.counts import say_count
from propagate.errors import FormatError
from propagate.io.chain import Chain, Point, tidy_chain
from propagate.io.drawn_lines import DrawnLine, DrawnText
from propagate.io.pdf.cutting import Box, cut_lines, holds_point, part_of_segment
from propagate.io.pdf.limits import near_pairs
from propagate.io.pdf.polyline import Polyline
from propagate.io.pdf.rounding import round_all
from propagate.io.pdf.tiles import Place, TiledPages, place_name
from propagate.io.report import ReportNotes
from propagate.io.sheet.looks import LookKey, key_of
from propagate.tolerances import SAME_POINT_MM
from propagate.values import dataclass

__all__ = ["assemble_pages", "move_chain"]

JOIN_MM = 0.5
"""Ends of a line on two pages that lie this near are one place: pages are drawn to whole points."""
MOST_PAIRS = 5_000_000
_BACK = 0.9
"""Cosine between two ends from which they point the same way."""
_OTHER_DASH = 0.1
"""Lines of other dashes go on in one another only where none of their own does."""
_AT_BORDER_MM = 0.02
_SAME_MM = 0.02


def move_chain(chain: Chain, x: float, y: float) -> Chain:
    """The same line elsewhere."""
    return Chain(
        (chain.start[0] + x, chain.start[1] + y),
        tuple(tuple((p[0] + x, p[1] + y) for p in segment) for segment in chain.segments),
        chain.closed,
    )


def assemble_pages(
    tiled: TiledPages, file: str, notes: ReportNotes
) -> tuple[list[DrawnLine], list[DrawnText], tuple[float, float]]:
    """Lines and texts of the sheet that the pages make up, and its size."""
    lines: list[DrawnLine] = []
    texts: list[DrawnText] = []
    borders: list[shapely.LinearRing] = []
    for place, number in tiled.places.items():
        x, y = _find_shift(tiled, place)
        boxes = _find_own_boxes(tiled, place)
        borders += [
            shapely.box(left + x, bottom + y, right + x, top + y).exterior
            for left, bottom, right, top in boxes
        ]
        cuts = [(line, box) for line in tiled.lines[number] for box in boxes]
        parts_of = cut_lines([line.chain for line, _ in cuts], [box for _, box in cuts])
        lines += [
            replace(line, chain=move_chain(part, x, y))
            for (line, _), parts in zip(cuts, parts_of, strict=True)
            for part in ([line.chain] if parts is None else parts)
        ]
        texts += [
            replace(text, at=(text.at[0] + x, text.at[1] + y))
            for text in tiled.texts[number]
            if any(holds_point(box, text.at) for box in boxes)
        ]
    lines, loose = _join_lines(lines, shapely.MultiLineString(borders), file)
    _tell_loose(tiled, loose, file, notes)
    left, bottom, right, top = tiled.frame
    wide = (tiled.columns - 1) * tiled.pitch[0] + right - left
    return lines, texts, (wide, (tiled.rows - 1) * tiled.pitch[1] + top - bottom)


def _find_shift(tiled: TiledPages, place: Place) -> tuple[float, float]:
    """From a page to the sheet, whose lower left corner is the origin."""
    row, column = place
    x = column * tiled.pitch[0] - tiled.frame[0]
    return x, (tiled.rows - 1 - row) * tiled.pitch[1] - tiled.frame[1]


def _find_own_boxes(tiled: TiledPages, place: Place) -> list[Box]:
    """What a page gives to the sheet: every place of the sheet is given by one page alone.

    Up to the middle of what it shares with a neighbour, and, where a place has no page, what
    it shows of that place, unless a page before it shows it as well.
    """
    row, column = place
    left, bottom, right, top = tiled.frame
    x, y = tiled.overlap
    bands_x = _divide_page(left, right, x, column, tiled.columns, 1)
    bands_y = _divide_page(bottom, top, y, row, tiled.rows, -1)
    inner = [
        [(low, high) for low, high, home, _ in b if home == at]
        for b, at in ((bands_x, column), (bands_y, row))
    ]
    found = [(inner[0][0][0], inner[1][0][0], inner[0][-1][1], inner[1][-1][1])]
    for low_x, high_x, of_column, seen_x in bands_x:
        for low_y, high_y, of_row, seen_y in bands_y:
            if (of_row, of_column) in tiled.places:
                continue
            seen = [one for one in product(seen_y, seen_x) if one in tiled.places]
            if min(seen) == place and low_x < high_x and low_y < high_y:
                found.append((low_x, low_y, high_x, high_y))
    return found


def _divide_page(
    low: float, high: float, lap: float, at: int, count: int, step: int
) -> list[tuple[float, float, int, tuple[int, ...]]]:
    """A page from one side to the other: from, to, whose place it is, which pages show it.

    `at` is the row or column of the page, `step` that of the next one at the far side.
    """
    before, after = at - step, at + step
    ends = [low, high]
    middle: list[tuple[int, tuple[int, ...]]] = [(at, (at,))]
    if 0 <= before < count:
        ends[1:1] = [low + lap / 2, low + lap]
        middle = [(before, (before, at)), (at, (before, at)), *middle]
    if 0 <= after < count:
        ends[-1:-1] = [high - lap, high - lap / 2]
        middle = [*middle, (at, (at, after)), (after, (at, after))]
    return [(a, b, home, seen) for (a, b), (home, seen) in zip(pairwise(ends), middle, strict=True)]


@dataclass(frozen=True, eq=False)
class _End:
    """An end of a line: which way it points there, and the look as far as an eye sees it."""

    line: int
    last: bool
    at: Point
    way: Point
    look: LookKey


def _make_end(number: int, line: DrawnLine, last: bool) -> _End:
    chain = line.chain
    at, segment = (chain.end, chain.segments[-1]) if last else (chain.start, chain.segments[0])
    if len(segment) > 1:
        x, y = chain.points[-2 if last else 1].tolist()
    elif last:
        x, y = _last_start(chain.start, chain.segments)
    else:
        x, y = segment[0]
    run = max(math.dist(at, (x, y)), 1e-12)
    return _End(number, last, at, ((at[0] - x) / run, (at[1] - y) / run), key_of(line.look))


def _join_lines(
    lines: Sequence[DrawnLine], seams: shapely.Geometry, file: str
) -> tuple[list[DrawnLine], list[Point]]:
    """Join lines whose ends meet at a seam; the ends that meet nothing there."""
    tips = [(i, last) for i, line in enumerate(lines) if not line.closed for last in (False, True)]
    if not tips:
        return list(lines), []
    shapely.prepare(seams)
    at = [lines[i].chain.end if last else lines[i].chain.start for i, last in tips]
    spots = shapely.points(np.array(at))
    at_seam = np.flatnonzero(shapely.dwithin(seams, spots, _AT_BORDER_MM))
    ends, spots = (
        [_make_end(tips[i][0], lines[tips[i][0]], tips[i][1]) for i in at_seam],
        spots[at_seam],
    )
    if near_pairs(np.array([end.at for end in ends]), JOIN_MM) > MOST_PAIRS:
        raise FormatError(
            f"{file}: found {len(ends)} ends of lines at the borders of pages, many of "
            "them in one place, expected lines that lie apart; take hatchings and pictures out"
        )
    one, other = shapely.STRtree(spots).query(spots, predicate="dwithin", distance=JOIN_MM)
    ranked = sorted(
        (misfit, i, j)
        for i, j in zip(one.tolist(), other.tolist(), strict=True)
        if i < j and (misfit := _measure_misfit(lines, ends[i], ends[j])) is not None
    )
    partner: dict[int, int] = {}
    for _, i, j in ranked:
        if i not in partner and j not in partner:
            partner[i], partner[j] = j, i
    loose = [end.at for i, end in enumerate(ends) if i not in partner]
    return _link_parts(lines, ends, partner), loose


def _measure_misfit(lines: Sequence[DrawnLine], one: _End, other: _End) -> float | None:
    """How badly two ends go on in one another, mm; None when they cannot.

    Lines that cross in one place of a border go straight on, and of lines that lie on one
    another each has its own dash. A line never runs back along itself.
    """
    a, b = lines[one.line], lines[other.line]
    if one.line == other.line or a.layer != b.layer:
        return None
    if a.look.colour != b.look.colour:
        steps = zip(a.look.colour, b.look.colour, strict=True)
        if max(abs(x - y) for x, y in steps) >= 0.02:
            return None
    if abs(a.look.width - b.look.width) > 0.05:  # the dash may look different near a border
        return None
    back = one.way[0] * other.way[0] + one.way[1] * other.way[1]
    if back > _BACK:
        return None
    dash = 0.0 if one.look == other.look else _OTHER_DASH
    return math.dist(one.at, other.at) + JOIN_MM * (1.0 + back + dash)


def _link_parts(
    lines: Sequence[DrawnLine], ends: Sequence[_End], partner: dict[int, int]
) -> list[DrawnLine]:
    """Each row of parts as one line, in the place of its first part."""
    by_line = {(end.line, end.last): i for i, end in enumerate(ends)}

    def beyond(line: int, last: bool) -> _End | None:
        here = by_line.get((line, last))
        return ends[partner[here]] if here is not None and here in partner else None

    done: set[int] = set()
    joined: dict[int, _Joined] = {}
    for start in range(len(lines)):
        if start in done:
            continue
        first, last = start, False
        seen = {start}
        while (before := beyond(first, last)) is not None and before.line not in seen:
            first, last = before.line, not before.last
            seen.add(first)
        row, ring = [(first, last)], False  # with whether the part runs backwards
        while (after := beyond(row[-1][0], not row[-1][1])) is not None:
            if after.line == first:
                ring = True
                break
            row.append((after.line, after.last))
        done |= {line for line, _ in row}
        joined[min(line for line, _ in row)] = _join_row([lines[i] for i, _ in row], row, ring)
    return _tidy_rows([joined[i] for i in sorted(joined)])


@dataclass(frozen=True, eq=False)
class _Joined:
    """A line with what it is made of: a start and segments as those of `Chain`, not yet tidied."""

    line: DrawnLine
    start: Point
    segments: Sequence[tuple[Point, ...]]
    ring: bool


def _tidy_rows(rows: Sequence[_Joined]) -> list[DrawnLine]:
    straight = [
        row for row in rows if row.segments and all(len(segment) == 1 for segment in row.segments)
    ]
    points = [np.array([row.start, *chain.from_iterable(row.segments)]) for row in straight]
    rounded = round_all(points, 2 * SAME_POINT_MM)
    plain = {
        id(row): Polyline(xy, row.ring).to_chain()
        for row, xy in zip(straight, rounded, strict=True)
        if xy is not None and not (row.ring and (xy[0] != xy[-1]).any())
    }
    found = []
    for row in rows:
        tidy = plain.get(id(row)) or tidy_chain(row.start, row.segments, row.ring)
        found.append(
            row.line if not row.segments else replace(row.line, chain=tidy or row.line.chain)
        )
    return found


def _join_row(parts: Sequence[DrawnLine], row: Sequence[tuple[int, bool]], ring: bool) -> _Joined:
    if len(parts) == 1 and not ring:
        return _Joined(parts[0], parts[0].chain.start, (), False)
    ways = [
        part.chain.reversed() if back else part.chain
        for part, (_, back) in zip(parts, row, strict=True)
    ]
    start = ways[0].start
    segments: list[tuple[Point, ...]] = list(ways[0].segments)
    for way in ways[1:]:
        whole = _whole_segment(_last_start(start, segments), segments[-1], way)
        if whole is None:
            segments += way.segments
        else:
            segments[-1:] = [whole, *way.segments[1:]]
    if ring and len(segments) > 1:
        beginning = Chain(start, tuple(segments[:1]))
        whole = _whole_segment(_last_start(start, segments), segments[-1], beginning)
        if whole is not None:
            start, segments = segments[0][-1], [*segments[1:-1], whole]
    longest = parts[0]
    if any(part.look != longest.look for part in parts):
        longest = max(parts, key=lambda part: part.chain.length)
    sheet = min(part.sheet for part in parts)
    return _Joined(replace(longest, chain=ways[0], sheet=sheet), start, segments, ring)


def _last_start(start: Point, segments: Sequence[tuple[Point, ...]]) -> Point:
    """Where the last segment begins."""
    return segments[-2][-1] if len(segments) > 1 else start


def _whole_segment(
    start: Point, before: tuple[Point, ...], after: Chain
) -> tuple[Point, ...] | None:
    """The segment that was cut in two; None when the two were not one.

    A Bezier curve cut at ``t`` leaves handles that are ``t`` and ``1 - t`` times its own (de
    Casteljau): its own follow from them, and cutting it again has to give both parts.
    """
    first, last = before, after.segments[0]
    if len(first) != len(last) or math.dist(first[-1], after.start) > _SAME_MM:
        return None
    if len(first) == 1:
        run, rest = math.dist(start, first[0]), math.dist(after.start, last[0])
        off = _distance_from_line(first[0], start, last[0]) if run and rest else 0.0
        return last if off <= _SAME_MM / 4 else None
    a, b = math.dist(first[-2], first[-1]), math.dist(after.start, last[0])
    if a + b <= 1e-9:
        return None
    t = a / (a + b)
    if not 1e-3 < t < 1 - 1e-3:
        return None
    end = last[-1]
    near = _run_along(start, first[0], 1 / t)
    far = _run_along(end, last[-2], 1 / (1 - t))
    whole = (near, end) if len(first) == 2 else (near, far, end)
    controls = (start, *whole)
    parts = part_of_segment(controls, 0.0, t)[1], part_of_segment(controls, t, 1.0)[1]
    gap = max(math.dist(p, q) for p, q in zip(parts[0] + parts[1], first + last, strict=True))
    return whole if gap <= _SAME_MM else None


def _distance_from_line(point: Point, start: Point, end: Point) -> float:
    """How far a point is from the nearest one of a straight line."""
    x, y = end[0] - start[0], end[1] - start[1]
    share = ((point[0] - start[0]) * x + (point[1] - start[1]) * y) / max(x * x + y * y, 1e-300)
    return math.dist(point, _run_along(start, end, min(max(share, 0.0), 1.0)))


def _run_along(a: Point, b: Point, factor: float) -> Point:
    return a[0] + factor * (b[0] - a[0]), a[1] + factor * (b[1] - a[1])


def _tell_loose(tiled: TiledPages, loose: Sequence[Point], file: str, notes: ReportNotes) -> None:
    """Say where lines end at a border: a page is missing there, or one is not where it belongs."""
    empty = [
        (row, column)
        for row in range(tiled.rows)
        for column in range(tiled.columns)
        if (row, column) not in tiled.places
    ]
    blank = 0
    for place in empty:
        x, y = _find_shift(tiled, place)
        left, bottom, right, top = tiled.frame
        area = shapely.box(left + x - 1, bottom + y - 1, right + x + 1, top + y + 1)
        ends = [point for point in loose if area.covers(shapely.Point(point))]
        blank += not ends
        if ends:
            word = "ends" if len(ends) == 1 else "end"
            notes.add(
                "warning",
                f"the page in {place_name(place)} is missing: {say_count(len(ends), 'line')} "
                f"{word} at its border; add that page to the file",
                file=file,
            )
    if blank:
        notes.add(
            "found",
            f"{say_count(blank, 'place')} of the sheet without a page, where no line runs to",
            file=file,
        )
    inner = [point for point in loose if _lies_between(tiled, point)]
    if inner:
        notes.add(
            "warning",
            f"{say_count(len(inner), 'line')} cut at the border of two pages without going on in "
            f"the one beside, the first at x {inner[0][0]:.0f} mm, y {inner[0][1]:.0f} mm from the "
            "lower left corner of the sheet",
            option="--tiles or --overlap",
            file=file,
        )


def _lies_between(tiled: TiledPages, point: Point) -> bool:
    """Whether a point lies where two pages meet."""
    near = 0
    for place in tiled.places:
        x, y = _find_shift(tiled, place)
        here = point[0] - x, point[1] - y
        near += any(holds_point(box, here, 0.1) for box in _find_own_boxes(tiled, place))
    return near > 1
