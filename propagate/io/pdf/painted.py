"""What a page paints as lines: tidied and cut to what is seen, many of them at once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from itertools import chain as joined

import numpy as np

from propagate.io.chain import Chain, Point, tidy_chain
from propagate.io.drawn_lines import DrawnLine, Look
from propagate.io.pdf.clip import Clip, cut_to_region, with_last_gaps
from propagate.io.pdf.cutting import cut_lines
from propagate.io.pdf.limits import NOT_READABLE
from propagate.pattern.model import Array
from propagate.tolerances import DECIMALS
from propagate.values import dataclass

__all__ = ["Painted", "drawn_lines"]

_HAIR_MM = 0.001
"""Writers round to about a hundred nanometres: two points of a draft that were one come apart, and
the hair between them runs across the outline."""
_SURELY_ROUNDED = 1e6
"""Up to this many mm a float tells its last decimal that is kept from half of it."""


@dataclass(frozen=True, eq=False)
class Painted:
    """A path as it was painted: a start, segments as those of `Chain`, and how it is seen."""

    start: Point
    segments: Sequence[tuple[Point, ...]]
    closed: bool
    look: Look
    clip: Clip
    layers: Sequence[str | None]


def drawn_lines(
    painted: Sequence[Painted], page: int, take: Callable[[Chain], None], counts: Counter[str]
) -> Iterator[DrawnLine]:
    """Tidy and cut what was painted, in its order.

    Parameters
    ----------
    painted : sequence of Painted
    page : int
        Its number.
    take : callable
        Counts each line that is seen; raises where there are too many.
    counts : Counter
        Takes what is left out or cut, by a word for it.
    """
    seen = [
        path for path, outside in zip(painted, _find_outside(painted), strict=True) if not outside
    ]
    counts["clipped"] += len(painted) - len(seen)
    whole = [
        (path, _close_chain(chain))
        for path, chain in zip(seen, _tidy_all(seen), strict=True)
        if chain is not None
    ]
    # An area a hair wide, as a writer draws the very end of a dash, is nothing to see.
    whole = [
        (path, chain)
        for path, chain in whole
        if not path.look.filled or chain.curved or len(chain.segments) >= 3
    ]
    in_box = cut_lines([chain for _, chain in whole], [path.clip.box for path, _ in whole])
    for (path, chain), parts in zip(whole, in_box, strict=True):
        try:
            parts = cut_to_region(parts, path.clip)
            if path.look.dash and not path.closed:
                parts = with_last_gaps(chain, parts, max(path.look.dash[1::2]))
        except NOT_READABLE:
            counts["operators"] += 1
            continue
        counts["clipped"] += not parts
        counts["cut"] += len(parts) > 0 and parts[0] is not chain and not _is_ring(path)
        for part in parts:
            take(part)
            for layer in path.layers:
                yield DrawnLine(part, path.look, layer, page)


def _is_ring(path: Painted) -> bool:
    return path.closed or path.look.filled


def _join_controls(path: Painted) -> list[Point]:
    """All control points."""
    return [path.start, *joined(*path.segments)]


def _find_outside(painted: Sequence[Painted]) -> list[bool]:
    """Whether each path lies beyond one side of its clip as a whole."""
    if not painted:
        return []
    points = [_join_controls(path) for path in painted]
    firsts = np.cumsum([0, *map(len, points[:-1])])
    xy = np.array(list(joined(*points)))
    box = np.array([path.clip.box for path in painted])
    beyond = np.maximum.reduceat(xy, firsts) < box[:, :2]
    beyond |= np.minimum.reduceat(xy, firsts) > box[:, 2:]
    found: list[bool] = np.any(beyond, axis=1).tolist()
    return found


def _tidy_all(painted: Sequence[Painted]) -> list[Chain | None]:
    """What `tidy_chain` makes of each path; at once of straight ones without a short step."""
    found: list[Chain | None] = [None] * len(painted)
    straight, points = [], []
    for i, path in enumerate(painted):
        if not path.segments or sum(map(len, path.segments)) > len(path.segments):
            found[i] = tidy_chain(path.start, path.segments, _is_ring(path), _HAIR_MM)
            continue
        straight.append(i)
        points.append(_join_controls(path))
        if _is_ring(path) and points[-1][-1] != path.start:
            points[-1].append(path.start)
    if not straight:
        return found
    rounded = _round_points(np.array(list(joined(*points))))
    firsts = np.cumsum([0, *map(len, points)])
    long = np.hypot(*np.diff(rounded, axis=0).T) > 2 * _HAIR_MM
    long[firsts[1:-1] - 1] = True  # from the end of a path to the start of the next
    plain = np.logical_and.reduceat(long, firsts[:-1])
    tuples = list(map(tuple, rounded.tolist()))
    for i, first, last, is_plain in zip(straight, firsts[:-1], firsts[1:], plain, strict=True):
        path = painted[i]
        if is_plain:
            segments = tuple(zip(tuples[first + 1 : last], strict=True))
            found[i] = Chain(tuples[first], segments, _is_ring(path))
        else:
            found[i] = tidy_chain(path.start, path.segments, _is_ring(path), _HAIR_MM)
    return found


def _round_points(points: Array) -> Array:
    """Round as `round` does, digit for digit: what lies near half a digit is left to it."""
    scaled = points * 10.0**DECIMALS
    rounded: Array = np.rint(scaled) / 10.0**DECIMALS
    half = np.abs(scaled - np.floor(scaled) - 0.5) < 1e-3
    for place in np.argwhere(half | (np.abs(points) > _SURELY_ROUNDED)):
        rounded[tuple(place)] = round(float(points[tuple(place)]), DECIMALS)
    return rounded + 0.0


def _close_chain(chain: Chain) -> Chain:
    """A line that comes back to where it began, as a closed one."""
    if chain.closed or len(chain.segments) < 3 or chain.end != chain.start:
        return chain
    return Chain(chain.start, chain.segments, True)
