"""What a page paints as lines: tidied and cut to what is seen, many of them at once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import chain as joined

import numpy as np

from propagate.geometry.arrays import Array, Indices
from propagate.io.chain import Chain, tidy_chain
from propagate.io.drawn_lines import DrawnLine, Look
from propagate.io.pdf.clip import Clip, cut_to_region, with_last_gaps
from propagate.io.pdf.cutting import cut_lines
from propagate.io.pdf.limits import NOT_READABLE
from propagate.io.pdf.polyline import Polyline
from propagate.io.pdf.rounding import round_all
from propagate.io.pdf.subpath import Subpath
from propagate.values import dataclass

__all__ = ["Painted", "drawn_lines"]

_HAIR_MM = 0.001
"""Writers round to about a hundred nanometres: two points of a draft that were one come apart, and
the hair between them runs across the outline."""


@dataclass(frozen=True, eq=False)
class Painted:
    """A path as it was painted, and how it is seen."""

    path: Subpath
    look: Look
    clip: Clip
    layers: Sequence[str | None]
    painting: int = 0

    @property
    def ring(self) -> bool:
        """Whether it comes back to where it began."""
        return self.path.closed or self.look.filled


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
    seen = _list_seen(painted, counts)
    in_box = cut_lines([line for _, line in seen], [path.clip.box for path, _ in seen])
    for (path, line), inside in zip(seen, in_box, strict=True):
        whole = line.to_chain() if inside is None and isinstance(line, Polyline) else line
        try:
            parts = [whole] if inside is None and isinstance(whole, Chain) else inside or []
            parts = cut_to_region(parts, path.clip)
            if path.look.dash and not path.path.closed:
                parts = with_last_gaps(whole, parts, max(path.look.dash[1::2]))
        except NOT_READABLE:
            counts["operators"] += 1
            continue
        counts["clipped"] += not parts
        counts["cut"] += len(parts) > 0 and parts[0] is not whole and not path.ring
        for part in parts:
            take(part)
            for layer in path.layers:
                yield DrawnLine(part, path.look, layer, page, path.painting)


def _list_seen(
    painted: Sequence[Painted], counts: Counter[str]
) -> list[tuple[Painted, Chain | Polyline]]:
    """The lines of which something may be seen."""
    if not painted:
        return []
    xy, firsts = _list_controls(painted)
    outside = _find_outside(painted, xy, firsts)
    counts["clipped"] += sum(outside)
    seen = [i for i, beyond in enumerate(outside) if not beyond]
    # An area a hair wide, as a writer draws the very end of a dash, is nothing to see.
    return [
        (painted[i], _close_line(line))
        for i, line in zip(seen, _tidy_all(painted, seen, xy, firsts), strict=True)
        if line is not None
        and (not painted[i].look.filled or line.curved or len(line.segments) >= 3)
    ]


def _list_controls(painted: Sequence[Painted]) -> tuple[Array, Indices]:
    """All control points of all paths, and the first of each; one more at the end."""
    paths = [one.path for one in painted]
    loose = [[] if path.row is not None else list(joined(*path.segments)) for path in paths]
    counts = np.array(
        [
            1 + (len(path) if path.row is not None else len(rest))
            for path, rest in zip(paths, loose, strict=True)
        ]
    )
    firsts = np.cumsum([0, *counts])
    xy = np.empty((firsts[-1], 2))
    is_row = np.repeat([path.row is not None for path in paths], counts)
    is_first = np.zeros(len(xy), dtype=bool)
    is_first[firsts[:-1]] = True
    xy[is_first] = [path.start for path in paths]
    if any(loose):
        xy[~is_row & ~is_first] = list(joined(*loose))
    rows = [path.row for path in paths if path.row is not None]
    if rows:
        x, y = np.array(list(joined(*(numbers for numbers, _ in rows)))).reshape(-1, 2).T
        maps = np.array([(m.a, m.b, m.c, m.d, m.e, m.f) for _, m in rows])
        a, b, c, d, e, f = np.repeat(maps, [len(numbers) // 2 for numbers, _ in rows], axis=0).T
        xy[is_row & ~is_first] = np.column_stack([a * x + c * y + e, b * x + d * y + f])
    return xy, firsts


def _find_outside(painted: Sequence[Painted], xy: Array, firsts: Indices) -> list[bool]:
    """Whether each path lies beyond one side of its clip as a whole."""
    box = np.array([path.clip.box for path in painted])
    beyond = np.maximum.reduceat(xy, firsts[:-1]) < box[:, :2]
    beyond |= np.minimum.reduceat(xy, firsts[:-1]) > box[:, 2:]
    found: list[bool] = np.any(beyond, axis=1).tolist()
    return found


def _tidy_all(
    painted: Sequence[Painted], seen: Sequence[int], xy: Array, firsts: Indices
) -> list[Chain | Polyline | None]:
    """What `tidy_chain` makes of each path; at once of straight ones without a short step."""
    plain = _tidy_straight(painted, [i for i in seen if painted[i].path.straight], xy, firsts)
    return [
        plain[i]
        if i in plain
        else tidy_chain(painted[i].path.start, painted[i].path.segments, painted[i].ring, _HAIR_MM)
        for i in seen
    ]


def _tidy_straight(
    painted: Sequence[Painted], straight: Sequence[int], xy: Array, firsts: Indices
) -> dict[int, Polyline]:
    """Those of the straight paths that have no short step."""
    parts = []
    for i in straight:
        part = xy[firsts[i] : firsts[i + 1]]
        if painted[i].ring and (part[0] != part[-1]).any():
            part = np.concatenate([part, part[:1]])
        parts.append(part)
    return {
        i: Polyline(points, painted[i].ring)
        for i, points in zip(straight, round_all(parts, 2 * _HAIR_MM), strict=True)
        if points is not None
    }


def _close_line(line: Chain | Polyline) -> Chain | Polyline:
    """A line that comes back to where it began, as a closed one."""
    if line.closed or len(line.segments) < 3 or line.end != line.start:
        return line
    return replace(line, closed=True)
