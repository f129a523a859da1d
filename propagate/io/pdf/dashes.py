"""Dashed lines that a writer drew stroke by stroke: one line with the look of its dashes."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby, pairwise

import numpy as np
import shapely

from propagate.geometry.arrays import Array
from propagate.io.chain import Point, tidy_chain
from propagate.io.drawn_lines import DrawnLine
from propagate.io.pdf.dash_rows import (
    FEWEST,
    TOUCH_MM,
    Ends,
    Links,
    Row,
    bridge_gap,
    find_corner,
    find_pattern,
    find_turns,
    usual_gap,
)
from propagate.io.pdf.limits import near_pairs

__all__ = ["dashed_lines"]

LONGEST_STROKE_MM = 25.0
LONGEST_GAP_MM = 12.0
_SHORTEST_GAP_MM = 0.2
_TURN = math.cos(math.radians(30))
_UNEVEN = 0.35
"""Share by which a gap may be off the usual one of its line."""
_MOSTLY = 0.8
"""Share of the strokes of a look that lie in rows, from which the others are dashes too; and of
strokes in a row that begin on other lines, from which they are notches."""
STRAIGHT_MM = 0.002
"""How far an end of a dash may lie off a straight line that goes through it."""
MOST_PAIRS = 15_000_000
_AT_ONCE = 1_000


def dashed_lines(lines: Sequence[DrawnLine]) -> tuple[list[DrawnLine], int]:
    """Put strokes that follow one another at even gaps together, and count the lines made."""
    groups: dict[tuple[object, ...], list[int]] = {}
    whole: set[tuple[object, ...]] = set()
    for i, line in enumerate(lines):
        colour = tuple(round(part, 2) for part in line.look.colour)
        key: tuple[object, ...] = (colour, round(line.look.width, 1), line.layer)
        if _is_stroke(line):
            groups.setdefault(key, []).append(i)
        elif not line.look.dash and not line.look.filled:
            whole.add(key)
    made: dict[int, DrawnLine] = {}
    gone: set[int] = set()
    in_groups = {i for members in groups.values() for i in members}
    others = [
        line.chain.figure
        for i, line in enumerate(lines)
        if i not in in_groups and not line.look.filled
    ]
    tree = shapely.STRtree(others)
    for key, members in groups.items():
        if len(members) < FEWEST:
            continue
        strokes = [lines[i] for i in members]
        between = _lie_between_others(strokes)
        members = [i for i, is_between in zip(members, between, strict=True) if not is_between]
        strokes = [lines[i] for i in members]
        if len(members) < FEWEST or (
            near_pairs(np.array([s.chain.start for s in strokes]), LONGEST_GAP_MM) > MOST_PAIRS
        ):  # a hatching, or letters
            continue
        for row, line in _rows_and_lines(strokes, alone=key not in whole and not any(between)):
            if _are_ticks([strokes[i] for i, _ in row.strokes], tree):
                continue
            first = min(members[i] for i, _ in row.strokes)
            made[first] = line
            gone |= {members[i] for i, _ in row.strokes}
    found = [made.get(i, line) for i, line in enumerate(lines) if i in made or i not in gone]
    return found, len(made)


def _are_ticks(strokes: Sequence[DrawnLine], others: shapely.STRtree) -> bool:
    """Whether strokes in a row are the notches of nested sizes: each begins on another line.

    A dash may do so by chance, and the first and the last of a line where it begins and ends.
    """
    tips = shapely.points([end for s in strokes for end in (s.chain.start, s.chain.end)])
    met = np.unique(others.query(tips, predicate="dwithin", distance=TOUCH_MM)[0])
    begun = int((np.bincount(met // 2, minlength=1) == 1).sum())  # with both ends it runs along one
    return begun >= FEWEST and begun >= _MOSTLY * len(strokes)


def _lie_between_others(strokes: Sequence[DrawnLine]) -> list[bool]:
    """Whether strokes lie on both ends of a stroke: a line drawn piece by piece has no gaps."""
    ends = np.array([point for s in strokes for point in (s.chain.start, s.chain.end)])
    if near_pairs(ends, TOUCH_MM) > MOST_PAIRS:
        return [False] * len(strokes)
    spots = shapely.points(ends)
    one, other = shapely.STRtree(spots).query(spots, predicate="dwithin", distance=TOUCH_MM)
    met = np.zeros(len(ends), dtype=bool)
    met[one[one // 2 != other // 2]] = True
    return [bool(first and last) for first, last in met.reshape(-1, 2)]


def _is_stroke(line: DrawnLine) -> bool:
    return (
        not line.closed
        and not line.look.filled
        and not line.look.dash
        and math.dist(line.chain.start, line.chain.end) <= LONGEST_STROKE_MM
        and line.chain.length <= LONGEST_STROKE_MM
    )


def _rows_and_lines(strokes: Sequence[DrawnLine], *, alone: bool) -> list[tuple[Row, DrawnLine]]:
    """The dashed lines among strokes of one look.

    Parameters
    ----------
    strokes : sequence of DrawnLine
    alone : bool
        No whole line has that look: a stroke or two by themselves are a dashed line that is
        shorter than its dashes.
    """
    ends = _list_ends(strokes)
    partners = Links(_find_partners(ends), {})
    straight = Links(partners.partner, find_turns(partners, ends))
    links = _with_corners(straight, _collect_rows(straight, ends), ends)
    rows = [_close_row(row, links, ends) for row in _collect_rows(links, ends)]
    found = [row for row in rows if len(row.strokes) >= FEWEST]
    if not found:
        return []
    lines = [_line_of(row, links, strokes, ends) for row in found]
    lengths: Counter[tuple[float, ...]] = Counter()
    for line in lines:
        lengths[line.look.dash] += round(line.chain.length)
    dashes = sorted(lengths, key=lambda dash: (lengths[dash], dash), reverse=True)
    usual = dashes[0]
    lines = [
        _with_dash(
            line, next(dash for dash in dashes if _may_be(line.look.dash, dash, len(row.strokes)))
        )
        for row, line in zip(found, lines, strict=True)
    ]
    pairs = list(zip(found, lines, strict=True))
    if alone and sum(len(row.strokes) for row in found) >= _MOSTLY * len(strokes):
        in_rows = {i for row in rows for i, _ in row.strokes}
        short = [row for row in rows if len(row.strokes) < FEWEST]
        short += [Row(((i, False),), False) for i in range(len(strokes)) if i not in in_rows]
        pairs += [
            (row, _with_dash(_line_of(row, links, strokes, ends), usual))
            for row in short
            if all(
                abs(gap - usual[1]) <= _UNEVEN * usual[1] for gap in usual_gap(row, links, ends)[0]
            )
        ]
    return pairs


def _with_dash(line: DrawnLine, dash: tuple[float, ...]) -> DrawnLine:
    return replace(line, look=replace(line.look, dash=dash))


def _may_be(dash: tuple[float, ...], usual: tuple[float, ...], strokes: int) -> bool:
    """Whether a line of so many strokes may be of the usual dash: a short one shows part of it."""

    def near(value: float, parts: Sequence[float]) -> bool:
        return any(abs(value - part) <= max(0.1 * part, 0.1) for part in parts)

    if len(dash) == len(usual):
        return all(near(value, [part]) for value, part in zip(dash, usual, strict=True))
    if strokes > len(usual) + 2:  # more than a part that has one long stroke
        return False
    on = all(near(value, usual[::2]) for value in dash[::2])
    return on and all(near(value, usual[1::2]) for value in dash[1::2])


def _list_ends(strokes: Sequence[DrawnLine]) -> Ends:
    points, outward = [], []
    for stroke in strokes:
        xy = stroke.chain.points
        points += [xy[0], xy[-1]]
        outward += [xy[0] - xy[1], xy[-1] - xy[-2]]
    out = np.array(outward)
    out /= np.maximum(np.hypot(out[:, 0], out[:, 1]), 1e-12)[:, None]
    paintings = [(stroke.sheet, stroke.painting) for stroke in strokes]
    numbers = np.unique(paintings, axis=0, return_inverse=True)[1].reshape(-1)
    lengths = np.array([stroke.chain.length for stroke in strokes])
    return Ends(np.array(points), out, lengths, numbers)


def _find_partners(ends: Ends) -> Array:
    """The end that each end goes on at, -1 where it does not: each is the other's nearest.

    What is painted at once goes before what is nearer: some writers paint all dashes of a line so.
    """
    count = len(ends.points)
    tree = shapely.STRtree(shapely.points(ends.points))
    best = np.full(count, -1)
    for first in range(0, count, _AT_ONCE):
        here = np.arange(first, min(first + _AT_ONCE, count))
        one, other = tree.query(
            shapely.points(ends.points[here]), predicate="dwithin", distance=LONGEST_GAP_MM
        )
        one = here[one]
        apart = one // 2 != other // 2
        one, other = one[apart], other[apart]
        run = ends.points[other] - ends.points[one]
        gap = np.hypot(run[:, 0], run[:, 1])
        longest = np.maximum(ends.lengths[one // 2], ends.lengths[other // 2])
        ahead = np.einsum("ij,ij->i", run, ends.outward[one])
        back = -np.einsum("ij,ij->i", run, ends.outward[other])
        fits = (gap > _SHORTEST_GAP_MM) & (gap <= np.maximum(4.0, 3.0 * longest))
        fits &= (ahead >= _TURN * gap) & (back >= _TURN * gap)
        one, other, gap = one[fits], other[fits], gap[fits]
        elsewhere = ends.paintings[one // 2] != ends.paintings[other // 2]
        order = np.lexsort((other, gap, elsewhere, one))
        one, other = one[order], other[order]
        nearest = np.unique(one, return_index=True)[1]
        best[one[nearest]] = other[nearest]
    mutual = (best >= 0) & (best[best] == np.arange(count))
    return np.where(mutual, best, -1)


def _collect_rows(links: Links, ends: Ends) -> list[Row]:
    """Strokes in rows, parted where a gap is not like the others of its row."""
    partner, count = links.partner, len(ends.lengths)
    seen = np.zeros(count, dtype=bool)
    free = [i for i in range(count) if (partner[2 * i] < 0) != (partner[2 * i + 1] < 0)]
    linked = [i for i in range(count) if partner[2 * i] >= 0 and partner[2 * i + 1] >= 0]
    found = []
    for start in [*free, *linked]:
        if seen[start]:
            continue
        here, backwards = start, bool(partner[2 * start + 1] < 0)
        row: list[tuple[int, bool]] = []
        while not seen[here]:
            seen[here] = True
            row.append((here, backwards))
            ahead = int(partner[2 * here + (not backwards)])
            if ahead < 0:
                break
            here, backwards = ahead // 2, bool(ahead % 2)
        ring = ahead >= 0 and len(row) > 2
        found += _even_parts(Row(tuple(row), ring), links, ends)
    return found


def _even_parts(
    row: Row,
    links: Links,
    ends: Ends,
) -> list[Row]:
    gaps, usual = usual_gap(row, links, ends)
    wide = [i for i, gap in enumerate(gaps) if abs(gap - usual) > _UNEVEN * usual]
    if not wide:
        return [row]
    if row.ring:  # open the ring at a wide gap
        cut = wide[0] + 1
        return _even_parts(
            Row(row.strokes[cut:] + row.strokes[:cut], False),
            links,
            ends,
        )
    firsts = [0, *(i + 1 for i in wide), len(row.strokes)]
    return [Row(row.strokes[a:b], False) for a, b in pairwise(firsts)]


def _close_row(
    row: Row,
    links: Links,
    ends: Ends,
) -> Row:
    """A row that comes back to where it began: there a gap is cut short, or two dashes meet."""
    if row.ring or len(row.strokes) < FEWEST:
        return row
    (last, turned), (first, back) = row.strokes[-1], row.strokes[0]
    one, other = 2 * last + (not turned), 2 * first + back
    run = ends.points[other] - ends.points[one]
    gap = float(np.hypot(run[0], run[1]))
    ahead, behind = float(run @ ends.outward[one]), -float(run @ ends.outward[other])
    usual = usual_gap(row, links, ends)[1]
    if gap > TOUCH_MM and (gap > usual or min(ahead, behind) < _TURN * gap):
        return row
    return replace(row, ring=True)


def _with_corners(
    links: Links,
    rows: Sequence[Row],
    ends: Ends,
) -> Links:
    """Join rows whose dashes leave out the corner at which they meet."""
    usual = _list_tips(rows, links, ends)
    tips = sorted(usual)
    if len(tips) < 2:
        return links
    spots = shapely.points(ends.points[tips])
    pairs = shapely.STRtree(spots).query(
        spots, predicate="dwithin", distance=1.3 * max(usual.values())
    )
    best: dict[int, tuple[bool, float, int, Point]] = {}
    for i, j in pairs.T:
        one, other = tips[i], tips[j]
        corner = find_corner(one, other, links, ends) if one != other else None
        if corner is not None and corner[0] <= 1.3 * min(usual[one], usual[other]):
            elsewhere = bool(ends.paintings[one // 2] != ends.paintings[other // 2])
            way = (elsewhere, corner[0], other, corner[1])
            best[one] = min(best.get(one, way), way)
    partner, corners = links.partner.copy(), dict(links.corners)
    for one, (_, _, other, point) in best.items():
        if other in best and best[other][2] == one:
            partner[one] = other
            corners[one] = point
    return Links(partner, corners)


def _list_tips(rows: Sequence[Row], links: Links, ends: Ends) -> dict[int, float]:
    """The usual gap at the ends of each row.

    A stroke or two between corners have the gap of the row that is painted at once with them.
    """
    gaps = {row: usual_gap(row, links, ends)[1] for row in rows if len(row.strokes) >= FEWEST}
    painted: dict[int, list[float]] = {}
    for row, gap in gaps.items():
        painted.setdefault(int(ends.paintings[row.strokes[0][0]]), []).append(gap)
    in_rows = {i for row in rows for i, _ in row.strokes}
    alone = [Row(((i, False),), False) for i in range(len(ends.lengths)) if i not in in_rows]
    usual: dict[int, float] = {}
    for row in [*rows, *alone]:
        (first, back), (last, turned) = row.strokes[0], row.strokes[-1]
        found = [gaps[row]] if row in gaps else painted.get(int(ends.paintings[first]), [])
        if found and not row.ring:
            gap = float(np.median(found))
            usual |= {2 * first + back: gap, 2 * last + (not turned): gap}
    return usual


def _line_of(
    row: Row,
    links: Links,
    strokes: Sequence[DrawnLine],
    ends: Ends,
) -> DrawnLine:
    chains = [strokes[i].chain for i, _ in row.strokes]
    ways = [
        chain.reversed() if back else chain
        for chain, (_, back) in zip(chains, row.strokes, strict=True)
    ]
    steps = [*row.steps(), None][: len(ways)]
    segments: list[tuple[Point, ...]] = []
    for way, step in zip(ways, steps, strict=True):
        segments += way.segments
        if step is not None:
            segments += bridge_gap(step, links, ends)
    start, segments = _join_straight(ways[0].start, segments, row.ring)
    chain = tidy_chain(start, segments, row.ring)
    assert chain is not None
    first = strokes[min(i for i, _ in row.strokes)]
    look = replace(first.look, dash=find_pattern(row, links, ends))
    return replace(first, chain=chain, look=look)


def _join_straight(
    start: Point, segments: Sequence[tuple[Point, ...]], ring: bool
) -> tuple[Point, list[tuple[Point, ...]]]:
    """Leave out where straight dashes end: on a straight line these are no points of the drawing.

    A fold line or a notch beside such an end would be taken to end there. A ring that begins on a
    straight line begins at its next point that stays.
    """
    if ring and segments[-1][-1] != start:
        segments = [*segments, (start,)]
    found: list[tuple[Point, ...]] = []
    here = start
    for is_straight, some in groupby(segments, lambda segment: len(segment) == 1):
        run = list(some)
        if is_straight:
            line = shapely.LineString([here, *(point for (point,) in run)])
            kept = shapely.simplify(line, STRAIGHT_MM, preserve_topology=False).coords
            run = [((float(x), float(y)),) for x, y in kept[1:]]
        found += run
        here = found[-1][-1]
    if ring and len(found) > 2 and len(found[0]) == len(found[-1]) == 1:
        before, after = found[-2][-1], found[0][0]
        if shapely.LineString([before, after]).distance(shapely.Point(start)) <= STRAIGHT_MM:
            return after, [*found[1:-1], (after,)]
    return start, found
