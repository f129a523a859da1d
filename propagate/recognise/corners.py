"""Find the corners of outlines that came without names, the same ones in every size.

An outline is a closed counter-clockwise ring of points without the repeated last one.
"""

from __future__ import annotations

from bisect import bisect
from collections.abc import Mapping, Sequence

import numpy as np

from propagate.errors import FormatError
from propagate.pattern.model import Array
from propagate.values import dataclass

__all__ = [
    "CORNER_DEG",
    "TURN_POINT_DEG",
    "BareOutline",
    "common_corners",
    "corners",
    "missed_corners",
    "turning",
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


def turning(points: Array, window: float = WINDOW_MM) -> Array:
    """(n,) change of direction at every vertex of a ring, degrees, positive to the left."""
    closed = np.concatenate([points, points[:1]])
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    whole = arc[-1]
    reach = min(window, whole / 8)
    steps = np.diff(arc)
    # A chord longer than the window gives the direction itself.
    before = np.maximum(reach, np.minimum(np.roll(steps, 1), whole / 8))
    after = np.maximum(reach, np.minimum(steps, whole / 8))
    back = _at(closed, arc, (arc[:-1] - before) % whole)
    ahead = _at(closed, arc, (arc[:-1] + after) % whole)
    came, goes = points - back, ahead - points
    cross = came[:, 0] * goes[:, 1] - came[:, 1] * goes[:, 0]
    return np.asarray(np.degrees(np.arctan2(cross, (came * goes).sum(axis=1))))


def _at(closed: Array, arc: Array, distance: Array) -> Array:
    return np.column_stack([np.interp(distance, arc, closed[:, k]) for k in (0, 1)])


def corners(outline: BareOutline, angle: float = CORNER_DEG) -> tuple[int, ...]:
    """Vertices where the outline turns by at least `angle` degrees.

    Of several vertices within the window only the sharpest is taken.
    """
    turn = np.abs(turning(outline.points))
    allowed = range(len(turn)) if outline.candidates is None else outline.candidates
    arc = _arc(outline.points)
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
    wide = np.abs(turning(outline.points))
    sharp = np.abs(turning(outline.points, 0.0))
    curved = np.where(sharp < angle, sharp, 0.0)  # a corner beside it says nothing
    beside = np.maximum(np.roll(curved, 1), np.roll(curved, -1))
    alone = (sharp >= 0.8 * wide) & (beside <= sharp / 3)
    allowed = range(len(wide)) if outline.candidates is None else outline.candidates
    found = [(i, float(wide[i])) for i in allowed if alone[i] and TURN_POINT_DEG <= wide[i] < angle]
    return tuple(sorted(found, key=lambda item: (-item[1], item[0])))


def _arc(points: Array) -> Array:
    closed = np.concatenate([points, points[:1]])
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])


def common_corners(
    piece: str, outlines: Mapping[str, BareOutline], base: str, angle: float = CORNER_DEG
) -> Mapping[str, tuple[int, ...]]:
    """Corners of a piece in all sizes, in the same order and starting at the same corner.

    The corners of the base size decide; in every other size the one that belongs to each
    is looked for, by its place on the piece and the side it turns to.

    Returns
    -------
    mapping of size to vertex indices
        At least one corner each: an outline without any starts at its lowest vertex.

    Raises
    ------
    FormatError
        Names the piece, the size and the corner that has no counterpart.
    """
    main = outlines[base]
    first = corners(main, angle) or (_lowest(main),)
    if len(first) > MOST_CORNERS:
        raise FormatError(
            f"piece '{piece}', size '{base}': found {len(first)} corners that turn by {angle:g} "
            f"degrees or more, expected at most {MOST_CORNERS}; choose a larger --corner-angle, or "
            "smooth the outline"
        )
    found = {base: first}
    for size, outline in outlines.items():
        if size != base:
            found[size] = _counterparts(piece, size, main, first, outline, angle, base)
    return found


def _lowest(outline: BareOutline) -> int:
    height = outline.places()[:, 1]
    allowed = range(len(height)) if outline.candidates is None else outline.candidates
    return min(allowed, key=lambda index: (height[index], index))


def _counterparts(
    piece: str,
    size: str,
    main: BareOutline,
    first: Sequence[int],
    outline: BareOutline,
    angle: float,
    base: str,
) -> tuple[int, ...]:
    if len(first) == 1 and len(corners(main, angle)) == 0:
        return (_lowest(outline),)
    own = corners(outline, angle)
    places, wanted = outline.places(), main.places()[list(first)]
    if len(own) == len(first):
        shifted = _best_shift(places[list(own)], wanted)
        rolled = own[shifted:] + own[:shifted]
        if np.hypot(*(places[list(rolled)] - wanted).T).max() < FAR:
            return rolled
    return _nearest(piece, size, main, first, outline, angle, base)


def _best_shift(places: Array, wanted: Array) -> int:
    costs = [
        float(((np.roll(places, -shift, axis=0) - wanted) ** 2).sum())
        for shift in range(len(places))
    ]
    return int(np.argmin(costs))


def _nearest(
    piece: str,
    size: str,
    main: BareOutline,
    first: Sequence[int],
    outline: BareOutline,
    angle: float,
    base: str,
) -> tuple[int, ...]:
    """Look for each corner of the base size among vertices that turn half as much."""
    turn, main_turn = turning(outline.points), turning(main.points)
    likely = corners(outline, angle / 2)
    places, main_places = outline.places(), main.places()
    found: list[int] = []
    for corner in first:
        same_side = [i for i in likely if turn[i] * main_turn[corner] > 0 and i not in found]
        gaps = {i: float(np.hypot(*(places[i] - main_places[corner]))) for i in same_side}
        best = min(gaps, key=lambda i: gaps[i], default=None)
        if best is None or gaps[best] >= FAR:
            x, y = main.points[corner]
            raise FormatError(
                f"piece '{piece}', size '{size}': found no corner that belongs to the one at "
                f"({x:.1f}, {y:.1f}) mm in size '{base}', where the outline turns by "
                f"{abs(main_turn[corner]):.0f} degrees; expected the same corners in every size; "
                f"choose another --corner-angle (now {angle:g}), or name the edges in the file"
            )
        found.append(best)
    falls = sum(b <= a for a, b in zip(found, [*found[1:], found[0]], strict=True))
    if falls > 1:
        raise FormatError(
            f"piece '{piece}', size '{size}': found its corners in another order than in size "
            f"'{base}', expected the same order in every size; name the edges in the file"
        )
    return tuple(found)
