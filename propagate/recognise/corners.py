"""Find the corners of outlines that came without names, the same ones in every size.

An outline is a closed counter-clockwise ring of points without the repeated last one.
"""

from __future__ import annotations

from bisect import bisect
from collections.abc import Mapping, Sequence
from itertools import product

import numpy as np

from propagate.errors import FormatError
from propagate.geometry.corner import turn_between
from propagate.geometry.polyline import arc_lengths
from propagate.pattern.model import Array
from propagate.values import dataclass

__all__ = [
    "CORNER_DEG",
    "TURN_POINT_DEG",
    "BareOutline",
    "CommonCorners",
    "UnevenCorner",
    "common_corners",
    "find_corners",
    "missed_corners",
    "measure_wide_turns",
]

CORNER_DEG = 25.0
"""Turn from which a vertex is a corner when the file does not mark turn points."""
TURN_POINT_DEG = 10.0
"""Turn from which a vertex that the file marks as turn point is a corner."""
WINDOW_MM = 2.0
"""Directions at a vertex are taken over this stretch, so that a tiny chord says nothing."""
MOST_CORNERS = 200
FAR = 0.25
"""Corners of two sizes belong together when they are nearer than this share of the piece."""


@dataclass(frozen=True, eq=False)
class BareOutline:
    """An outline in one size, without names.

    Attributes
    ----------
    points : (n, 2) array, mm
        Counter-clockwise, the first point not repeated.
    up : (2,) array
        Unit vector along the grain.
    candidates : tuple of int or None
        Vertices that may be corners: turn points, or joints of drawn curves; None when
        the file does not tell and any vertex may be one.
    """

    points: Array
    up: Array
    candidates: tuple[int, ...] | None = None

    def places(self) -> Array:
        """(n, 2) place of every vertex across and along the grain, 0 to 1 over the piece."""
        across = np.array([self.up[1], -self.up[0]])
        local = self.points @ np.column_stack([across, self.up])
        low, high = local.min(axis=0), local.max(axis=0)
        return np.asarray((local - low) / np.maximum(high - low, 1e-9))


def measure_wide_turns(points: Array, window: float = WINDOW_MM) -> Array:
    """(n,) change of direction at every vertex of a ring, degrees, positive to the left."""
    closed = np.concatenate([points, points[:1]])
    arc = arc_lengths(closed)
    whole = arc[-1]
    reach = min(window, whole / 8)
    steps = np.diff(arc)
    # A chord longer than the window gives the direction itself.
    before = np.maximum(reach, np.minimum(np.roll(steps, 1), whole / 8))
    after = np.maximum(reach, np.minimum(steps, whole / 8))
    back, ahead = (
        np.column_stack([np.interp(at % whole, arc, closed[:, k]) for k in (0, 1)])
        for at in (arc[:-1] - before, arc[:-1] + after)
    )
    return np.asarray(np.degrees(turn_between(points - back, ahead - points)))


def find_corners(outline: BareOutline, angle: float = CORNER_DEG) -> tuple[int, ...]:
    """Vertices where the outline turns by at least `angle` degrees.

    Of several vertices within the window only the sharpest is taken.
    """
    turn = np.abs(measure_wide_turns(outline.points))
    allowed = range(len(turn)) if outline.candidates is None else outline.candidates
    arc = _measure_ring(outline.points)
    whole = float(arc[-1])
    places: list[float] = []  # along the ring, in order
    found: list[int] = []
    for index in sorted((i for i in allowed if turn[i] >= angle), key=lambda i: (-turn[i], i)):
        here = float(arc[index])
        at = bisect(places, here)
        around = (places[at - 1], places[at % len(places)]) if places else ()
        gaps = (abs(here - other) for other in around)
        if all(min(gap, whole - gap) > WINDOW_MM for gap in gaps):
            places.insert(at, here)
            found.append(index)
    return tuple(sorted(found))


def missed_corners(
    outline: BareOutline, angle: float = CORNER_DEG
) -> tuple[tuple[int, float], ...]:
    """Vertices that look like corners and turn by less than `angle`.

    Such a vertex turns by `TURN_POINT_DEG` or more all at once, three times as much as the
    vertices beside it; on a curve its neighbours turn alike.

    Returns
    -------
    tuple of (vertex index, turn in degrees), the sharpest first
    """
    wide = np.abs(measure_wide_turns(outline.points))
    sharp = np.abs(measure_wide_turns(outline.points, 0.0))
    curved = np.where(sharp < angle, sharp, 0.0)  # a corner beside it says nothing
    beside = np.maximum(np.roll(curved, 1), np.roll(curved, -1))
    alone = (sharp >= 0.8 * wide) & (beside <= sharp / 3)
    allowed = range(len(wide)) if outline.candidates is None else outline.candidates
    found = [(i, float(wide[i])) for i in allowed if alone[i] and TURN_POINT_DEG <= wide[i] < angle]
    return tuple(sorted(found, key=lambda item: (-item[1], item[0])))


def _measure_ring(points: Array) -> Array:
    """(n + 1,) distance of every vertex from the first one, and the whole way round, mm."""
    return arc_lengths(np.concatenate([points, points[:1]]))


@dataclass(frozen=True)
class UnevenCorner:
    """A place where the outline turns by a corner's angle in some sizes and by less in others.

    Attributes
    ----------
    point : (x, y)
        In the base size, mm.
    least, most : float
        By how much it turns, over the sizes, degrees.
    taken : bool
        Whether it is a corner, then of all sizes: it is where the turn is enough in most.
    """

    point: tuple[float, float]
    least: float
    most: float
    taken: bool


@dataclass(frozen=True)
class CommonCorners:
    """The corners of a piece in all sizes.

    Attributes
    ----------
    at : mapping of size to vertex indices
        In the same order, starting at the same corner.
    uneven : tuple of UnevenCorner
    """

    at: Mapping[str, tuple[int, ...]]
    uneven: tuple[UnevenCorner, ...] = ()


def common_corners(
    piece: str,
    outlines: Mapping[str, BareOutline],
    base: str,
    angle: float = CORNER_DEG,
    also: Mapping[str, Sequence[int]] | None = None,
) -> CommonCorners:
    """Corners of a piece, decided for all sizes together.

    Wherever the outline turns in any size, the vertices of the other sizes that belong there
    are looked for, by place on the piece, side of the turn and order.  It is a corner of all
    sizes when the median of their turns is a corner's.

    Parameters
    ----------
    piece, base : str
    outlines : mapping of size to BareOutline
    angle : float
        Least turn at a corner, degrees.
    also : mapping of size to vertex indices, or None
        Corners that are known otherwise, such as the ends of a fold; in the same order in
        every size.

    Returns
    -------
    CommonCorners
        At least one corner: an outline without any starts at its lowest vertex.

    Raises
    ------
    FormatError
        Names the piece, the size and the corner that has no counterpart.
    """
    sizes = {size: _Turns(outline) for size, outline in outlines.items()}
    main = sizes[base]
    found: list[dict[str, int]] = []
    uneven: list[UnevenCorner] = []
    for row in _match_corners(sizes, base, angle):
        turns = [abs(float(sizes[size].turn[row[size]])) if size in row else 0.0 for size in sizes]
        taken = float(np.median(turns)) >= angle
        if len({turn >= angle for turn in turns}) > 1:
            x, y = main.outline.points[row[base]]
            uneven.append(UnevenCorner((float(x), float(y)), min(turns), max(turns), taken))
        if taken:
            found.append(row)
    if len(found) > MOST_CORNERS:
        raise FormatError(
            f"piece '{piece}', size '{base}': found {len(found)} corners that turn by {angle:g} "
            f"degrees or more, expected at most {MOST_CORNERS}; choose a larger --corner-angle, or "
            "smooth the outline"
        )
    for row, size in product(found, sizes):
        if size not in row:
            x, y = main.outline.points[row[base]]
            raise FormatError(
                f"piece '{piece}', size '{size}': found no corner that belongs to the one at "
                f"({x:.1f}, {y:.1f}) mm in size '{base}', where the outline turns by "
                f"{abs(float(main.turn[row[base]])):.0f} degrees; expected the same corners in "
                f"every size; choose another --corner-angle (now {angle:g}), or name the edges in "
                "the file"
            )
    known = [
        {size: vertices[k] for size, vertices in (also or {}).items()}
        for k in range(len((also or {}).get(base, ())))
    ]
    found = [
        row
        for row in found
        if not any(
            sizes[size].apart(row[size], own[size]) <= WINDOW_MM for own in known for size in sizes
        )
    ]
    found = [*found, *known] or [{size: turns.lowest() for size, turns in sizes.items()}]
    found.sort(key=lambda row: row[base])
    at = {size: tuple(row[size] for row in found) for size in sizes}
    for size, vertices in at.items():
        if sum(b <= a for a, b in zip(vertices, [*vertices[1:], vertices[0]], strict=True)) > 1:
            raise FormatError(
                f"piece '{piece}', size '{size}': found its corners in another order than in size "
                f"'{base}', expected the same order in every size; name the edges in the file"
            )
    return CommonCorners(at, tuple(uneven))


class _Turns:
    """An outline in one size with its turns and places, worked out once."""

    def __init__(self, outline: BareOutline) -> None:
        self.outline = outline
        self.turn = measure_wide_turns(outline.points)
        self.places = outline.places()
        self.arc = _measure_ring(outline.points)

    def sharp(self, angle: float) -> list[int]:
        """Vertices that turn by an angle, the sharpest of those close together."""
        return list(find_corners(self.outline, angle))

    def near(self, other: _Turns, vertex: int, least: float, reach: float) -> int | None:
        """The vertex that turns as another outline's does in the same place."""
        allowed = self.outline.candidates
        turn = self.turn if other.turn[vertex] > 0 else -self.turn
        fits = turn >= least
        if allowed is not None:
            only = np.zeros(len(fits), dtype=bool)
            only[list(allowed)] = True
            fits &= only
        gaps = np.hypot(*(self.places - other.places[vertex]).T)
        fits &= gaps < reach
        if not fits.any():
            return None
        return int(np.flatnonzero(fits)[np.argmin(gaps[fits] - 1e-3 * turn[fits] / 180.0)])

    def lowest(self) -> int:
        """The vertex that lies lowest."""
        height, allowed = self.places[:, 1], self.outline.candidates
        some = range(len(height)) if allowed is None else allowed
        return min(some, key=lambda index: (height[index], index))

    def apart(self, one: int, other: int) -> float:
        """How far two vertices are from each other along the outline, mm."""
        gap = abs(float(self.arc[one] - self.arc[other]))
        return min(gap, float(self.arc[-1]) - gap)


def _match_corners(sizes: Mapping[str, _Turns], base: str, angle: float) -> list[dict[str, int]]:
    """Vertices that belong together, one row for each place that turns in some size."""
    main = sizes[base]
    first = main.sharp(angle / 2)
    for size, other in sizes.items():
        if size == base:
            continue
        met = set(_pair_corners(main, first, other, other.sharp(angle / 2)).values())
        for vertex in other.sharp(angle):
            here = main.near(other, vertex, angle / 4, FAR / 5) if vertex not in met else None
            if here is not None and all(main.apart(here, v) > WINDOW_MM for v in first):
                first.append(here)
    first.sort()
    rows = [{base: vertex} for vertex in first]
    for size, other in sizes.items():
        if size == base:
            continue
        pairs = _pair_corners(main, first, other, other.sharp(angle / 2))
        used = set(pairs.values())
        for row, vertex in zip(rows, first, strict=True):
            found = pairs.get(vertex)
            if found is None:
                found = other.near(main, vertex, angle / 4, FAR / 2)
                found = None if found in used else found
            if found is not None:
                row[size] = found
                used.add(found)
    return rows


def _pair_corners(
    main: _Turns, first: Sequence[int], other: _Turns, own: Sequence[int]
) -> dict[int, int]:
    """Which vertex of another size belongs to each of the base size."""
    if not first or not own:
        return {}
    wanted, places = main.places[list(first)], other.places[list(own)]
    if len(own) == len(first):
        costs = [
            float(((np.roll(places, -shift, axis=0) - wanted) ** 2).sum())
            for shift in range(len(places))
        ]
        shifted = int(np.argmin(costs))
        rolled = [*own[shifted:], *own[:shifted]]
        off = np.hypot(*(other.places[rolled] - wanted).T).max()
        alike = (other.turn[rolled] * main.turn[list(first)] > 0).all()
        if off < FAR and alike:
            return dict(zip(first, rolled, strict=True))
    gaps = np.hypot(*(wanted[:, None, :] - places[None, :, :]).transpose(2, 0, 1))
    gaps[main.turn[list(first)][:, None] * other.turn[list(own)][None, :] <= 0] = FAR
    found: dict[int, int] = {}
    used: set[int] = set()
    for i, j in sorted(np.argwhere(gaps < FAR).tolist(), key=lambda ij: (gaps[ij[0], ij[1]], ij)):
        if first[i] not in found and own[j] not in used:
            found[first[i]] = own[j]
            used.add(own[j])
    return found
