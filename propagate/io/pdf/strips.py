"""Lines that a writer drew as narrow areas: a strip becomes the line along its middle."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

import shapely

from propagate.io.chain import Chain, Point, tidy_chain
from propagate.io.drawn_lines import DrawnLine

__all__ = ["middle_of_strip", "strips_as_lines"]

WIDEST_MM = 2.0
MOST_CORNERS = 400
MOST_GUESSES = 12
_PIVOT = 0.98
"""The corners on either side of the middle of a turn are nearer than this share of the width."""
_STEPS_ON_CURVE = 8
_FEWEST_ALIKE = 3
"""Strips that are painted at once, from which one with curved sides is a strip too."""
_NOTHING_MM = 0.01


def strips_as_lines(lines: Sequence[DrawnLine]) -> tuple[list[DrawnLine], int]:
    """Put lines in the place of strips, and count them."""
    middles = [_middle_of(line) for line in lines]
    widths = Counter(round(middle[1], 2) for middle in middles if middle is not None)
    usual = widths.most_common(1)[0][0] if widths else 0.0
    alike = Counter(
        (line.sheet, line.painting, round(middle[1], 2))
        for line, middle in zip(lines, middles, strict=True)
        if middle is not None
    )
    painted: dict[tuple[int, int], float] = {}
    for (sheet, painting, width), times in sorted(alike.items(), key=lambda item: item[1]):
        if times >= _FEWEST_ALIKE:
            painted[sheet, painting] = width
    found, count = [], 0
    for line, middle in zip(lines, middles, strict=True):
        at_once = painted.get((line.sheet, line.painting), 0.0)
        if middle is not None and abs(middle[1] - usual) > 0.05 * usual:
            middle = _middle_of(line, usual) or middle
        if line.look.filled and at_once and (middle is None or line.chain.curved):
            middle = _middle_of(line, at_once) or _of_short(line.chain, at_once)
        elif line.chain.curved:
            middle = None
        chain = (
            None
            if middle is None
            else tidy_chain(middle[0][0], [(p,) for p in middle[0][1:]], False)
        )
        if chain is None or middle is None:
            found.append(line)
            continue
        look = replace(line.look, width=round(middle[1], 3), filled=False)
        found.append(replace(line, chain=chain, look=look))
        count += 1
    return found, count


def _middle_of(line: DrawnLine, width: float = 0.0) -> tuple[list[Point], float] | None:
    if not line.look.filled or len(line.chain.segments) > MOST_CORNERS:
        return None
    if not line.chain.curved:
        corners = [line.chain.start, *(segment[0] for segment in line.chain.segments)]
        return middle_of_strip(corners[:-1], width)
    straight = [
        math.dist(start, segment[0])
        for start, segment in zip(line.chain.starts(), line.chain.segments, strict=True)
        if len(segment) == 1
    ]
    return middle_of_strip(_list_corners(line.chain), width, straight)


def _of_short(line: Chain, width: float) -> tuple[list[Point], float] | None:
    """The middle of a short strip that is a rectangle but for what a joint left at its end."""
    polygon = shapely.Polygon(_list_corners(line))
    around = shapely.get_coordinates(shapely.minimum_rotated_rectangle(polygon))
    if len(around) != 5:
        return None
    corners = [(float(x), float(y)) for x, y in around[:4]]
    found = _of_quad(corners, width)
    if found is None or abs(found[1] - width) > 0.05 * width:
        return None
    full = math.dist(*found[0]) * width
    return (found[0], width) if abs(polygon.area - full) <= 0.1 * full else None


def _list_corners(line: Chain) -> list[Point]:
    """The corners of a ring, with as many steps on each of its curves."""
    corners = [line.start]
    for start, segment in zip(line.starts(), line.segments, strict=True):
        steps = _STEPS_ON_CURVE if len(segment) > 1 else 1
        corners += [_find_on((start, *segment), k / steps) for k in range(1, steps)]
        corners.append(segment[-1])
    return corners[:-1]


def _find_on(controls: Sequence[Point], t: float) -> Point:
    """A place on a Bezier curve (de Casteljau)."""
    while len(controls) > 1:
        controls = [
            ((1 - t) * a[0] + t * b[0], (1 - t) * a[1] + t * b[1]) for a, b in pairwise(controls)
        ]
    return controls[0]


def middle_of_strip(
    corners: Sequence[Point], width: float = 0.0, sides: Iterable[float] | None = None
) -> tuple[list[Point], float] | None:
    """The line along the middle of a polygon, and its width; None when it is no narrow strip.

    A strip has two sides with as many corners each and the same width all along; where its line
    turns, a writer may let the inner side run through the middle: there the strip is two. Of a
    strip of four corners that is shorter than wide, `width` tells which sides are the long ones.
    `sides` are the lengths of those that may be its ends, all of them when left out.
    """
    corners = _without_hairs(corners)
    if len(corners) < 4:
        return None
    if len(corners) == 4:
        return _of_quad(corners, width)
    if width:
        sides = [width]
    elif sides is None:
        sides = (math.dist(a, b) for a, b in _list_sides(corners))
    for guess in sorted(set(sides))[:MOST_GUESSES]:
        if guess > WIDEST_MM:
            return None
        if guess > 1e-3:
            found = _of_turn(corners, guess) or _of_width(corners, guess)
            if found is not None:
                return found, guess
    return None


def _without_hairs(corners: Sequence[Point]) -> list[Point]:
    """The corners without those that lie on the one before, or go out and back."""
    kept = list(corners[:1])
    for corner in corners[1:]:
        if math.dist(kept[-1], corner) > _NOTHING_MM / 2:
            kept.append(corner)
        if len(kept) > 2 and math.dist(kept[-3], kept[-1]) <= _NOTHING_MM / 2:
            del kept[-2:]
    return kept


def _list_sides(corners: Sequence[Point]) -> list[tuple[Point, Point]]:
    return list(zip(corners, [*corners[1:], corners[0]], strict=True))


def _of_quad(corners: Sequence[Point], width: float) -> tuple[list[Point], float] | None:
    a, b, c, d = corners
    first, second = math.dist(a, b) + math.dist(c, d), math.dist(b, c) + math.dist(d, a)
    if abs(second / 2 - width) < 0.05 * width if width else first > second:
        a, b, c, d = b, c, d, a
        first, second = second, first
    even = abs(math.dist(a, b) - math.dist(c, d)) <= 0.1 * first
    if not even or first / 2 > WIDEST_MM or (second < first and not width):
        return None
    return [_find_midpoint(a, b), _find_midpoint(d, c)], first / 2


def _find_midpoint(a: Point, b: Point) -> Point:
    return (a[0] + b[0]) / 2, (a[1] + b[1]) / 2


def _of_turn(corners: Sequence[Point], width: float) -> list[Point] | None:
    """The middle of a strip whose inner side runs through the middle where it turns."""
    for i, pivot in enumerate(corners):
        before, after = corners[i - 1], corners[(i + 1) % len(corners)]
        off = max(abs(math.dist(pivot, other) - width / 2) for other in (before, after))
        if off > 0.05 * width or math.dist(before, after) > _PIVOT * width:
            continue
        ring = [*corners[i + 1 :], *corners[:i]]  # from behind the turn around to before it
        legs = [_cut_leg(way, pivot, width) for way in (ring, ring[::-1])]
        if not all(legs) or sum(map(len, legs)) > len(corners) + 2:  # the sides do not part here
            continue
        first, second = (_find_middle(leg, pivot, width) for leg in legs)
        if first is not None and second is not None:
            return [*reversed(second), pivot, *first]
    return None


def _cut_leg(ring: Sequence[Point], pivot: Point, width: float) -> list[Point]:
    """The part of a strip that leads away from a turn, empty where there is none.

    It ends on the other side, at the place that lies across the middle from where it begins.
    """
    across = 2 * pivot[0] - ring[0][0], 2 * pivot[1] - ring[0][1]
    off, last = min((_off_segment(across, a, b), k) for k, (a, b) in enumerate(pairwise(ring)))
    if off > 0.05 * width:
        return []
    leg = [*ring[: last + 1], across]
    if len(leg) % 2 and math.dist(leg[-2], across) < 0.05 * width:
        del leg[-2]
    return leg


def _find_middle(leg: Sequence[Point], pivot: Point, width: float) -> list[Point] | None:
    """The middle of a part of a strip, from the turn that it leads away from, without the turn."""
    (x, y), (bx, by), (ax, ay) = pivot, leg[0], leg[-1]
    along = (by - ay) / width, (ax - bx) / width
    reach = max(((cx - x) * along[0] + (cy - y) * along[1] for cx, cy in leg), key=abs)
    if abs(reach) <= width:  # too short to bend
        short = abs(reach) <= _NOTHING_MM
        return [] if short else [(x + reach * along[0], y + reach * along[1])]
    found = _of_turn(leg, width) or _of_leg(leg, width)
    if found is None:
        return None
    if math.dist(found[0], pivot) > math.dist(found[-1], pivot):
        found = found[::-1]
    return found[1:] if math.dist(found[0], pivot) <= 0.05 * width else None


def _of_leg(leg: Sequence[Point], width: float) -> list[Point] | None:
    """The middle of a strip from its first corner, whose end is its last side."""
    half = len(leg) // 2
    if len(leg) % 2 or half < 2:
        return None
    return _of_pairs([(leg[k], leg[-1 - k]) for k in range(half)], width, 0.0)


def _off_segment(point: Point, a: Point, b: Point) -> float:
    """How far a point is off a straight piece."""
    along, up = b[0] - a[0], b[1] - a[1]
    run = along * along + up * up
    t = ((point[0] - a[0]) * along + (point[1] - a[1]) * up) / run if run else 0.0
    t = min(max(t, 0.0), 1.0)
    return math.dist(point, (a[0] + t * along, a[1] + t * up))


def _of_width(corners: Sequence[Point], width: float) -> list[Point] | None:
    count = len(corners)
    half = count // 2
    if count % 2 or half < 2:
        return None
    ways: list[list[tuple[Point, Point]]] = []
    for i in range(half):
        ends = (
            (corners[i], corners[(i + 1) % count]),
            (corners[i + half], corners[(i + half + 1) % count]),
        )
        if any(abs(math.dist(a, b) - width) > 0.1 * width for a, b in ends):
            continue
        ways.append([(corners[(i + 1 + k) % count], corners[i - k]) for k in range(half)])
    ways.sort(key=lambda pairs: max(abs(math.dist(a, b) - width) for a, b in pairs))
    return _of_pairs(ways[0], width, width) if ways else None


def _of_pairs(
    pairs: Sequence[tuple[Point, Point]], width: float, least: float
) -> list[Point] | None:
    """The line between corners that lie across from one another, when it is longer than `least`."""
    across = [math.dist(a, b) for a, b in pairs]
    middle = [_find_midpoint(a, b) for a, b in pairs]
    along = sum(math.dist(a, b) for a, b in pairwise(middle))
    if along > least and all(0.9 * width <= gap <= 3.0 * width for gap in across):
        return middle
    return None
