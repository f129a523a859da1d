"""Lines that a writer drew as narrow areas: a strip becomes the line along its middle."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from propagate.io.chain import Point, tidy_chain
from propagate.io.drawn_lines import DrawnLine

__all__ = ["middle_of_strip", "strips_as_lines"]

WIDEST_MM = 2.0
MOST_CORNERS = 400
MOST_GUESSES = 12
_PIVOT = 0.3
"""Two corners of a strip that are nearer than this share of its width are one."""


def strips_as_lines(lines: Sequence[DrawnLine]) -> tuple[list[DrawnLine], int]:
    """Put lines in the place of strips, and count them."""
    middles = [_middle_of(line) for line in lines]
    widths = Counter(round(middle[1], 2) for middle in middles if middle is not None)
    usual = widths.most_common(1)[0][0] if widths else 0.0
    found, count = [], 0
    for line, middle in zip(lines, middles, strict=True):
        if middle is not None and abs(middle[1] - usual) > 0.05 * usual:
            middle = _middle_of(line, usual) or middle
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
    if not line.look.filled or line.chain.curved or len(line.chain.segments) > MOST_CORNERS:
        return None
    corners = [line.chain.start, *(segment[0] for segment in line.chain.segments)]
    return middle_of_strip(corners[:-1], width)


def middle_of_strip(
    corners: Sequence[Point], width: float = 0.0
) -> tuple[list[Point], float] | None:
    """The line along the middle of a polygon, and its width; None when it is no narrow strip.

    A strip has two sides with as many corners each and the same width all along; where its line
    turns, a writer may let the inner side run through the middle, which is tidied first. Of a
    strip of four corners that is shorter than wide, `width` tells which sides are the long ones.
    """
    if len(corners) < 4:
        return None
    if len(corners) == 4:
        return _of_quad(corners, width)
    for guess in sorted({math.dist(a, b) for a, b in _list_sides(corners)})[:MOST_GUESSES]:
        if guess > WIDEST_MM:
            return None
        if guess > 1e-3:
            found = _of_width(_without_pivots(corners, guess), guess)
            if found is not None:
                return found
    return None


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


def _without_pivots(corners: Sequence[Point], width: float) -> list[Point]:
    """Take out corners on the middle line, and make one of the two beside each."""
    count = len(corners)
    gone: set[int] = set()
    moved: dict[int, Point] = {}
    for i, corner in enumerate(corners):
        before, after = corners[i - 1], corners[(i + 1) % count]
        off = max(abs(math.dist(corner, other) - width / 2) for other in (before, after))
        if off < 0.05 * width and math.dist(before, after) < _PIVOT * width:
            gone |= {i, (i + 1) % count}
            moved[(i - 1) % count] = _find_midpoint(before, after)
    return [moved.get(i, corner) for i, corner in enumerate(corners) if i not in gone]


def _of_width(corners: Sequence[Point], width: float) -> tuple[list[Point], float] | None:
    count = len(corners)
    half = count // 2
    if count % 2 or half < 2:
        return None
    sides = [math.dist(a, b) for a, b in _list_sides(corners)]
    for i in range(half):
        if abs(sides[i] - width) > 0.1 * width or abs(sides[i + half] - width) > 0.1 * width:
            continue
        pairs = [(corners[(i + 1 + k) % count], corners[i - k]) for k in range(half)]
        across = [math.dist(a, b) for a, b in pairs]
        along = sum(math.dist(_find_midpoint(*p), _find_midpoint(*q)) for p, q in pairwise(pairs))
        if all(0.9 * width <= gap <= 3.0 * width for gap in across) and along > width:
            return [_find_midpoint(a, b) for a, b in pairs], width
    return None
