"""Name the edges of an outline by their place and role, where that is evident.

The grain is upright.  ``top`` and ``hem`` are the edges across the grain at the two ends
of the piece, ``centre`` is the fold, or the only edge that runs straight along the grain
at the border of the piece, ``side`` the edge opposite to it; ``left`` and ``right`` when
there is no centre.  Everything else is numbered by its place, counted clockwise from the
top (from the upper left where no edge is the top): ``edge_2`` is the one after it.  The
rules look at coarse places only, so that a piece that was edited gets its old names again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from propagate.pattern.model import Array, SizedPiece
from propagate.recognise.corners import CORNER_DEG, BareOutline, CommonCorners, common_corners
from propagate.values import dataclass

__all__ = ["carry_names", "name_edges", "name_outlines", "cut_ring", "turn_upright", "rename_edges"]

ZONE = 0.25  # an edge at the top has both ends in the upper quarter of the piece
BORDER = 0.06  # a centre lies within this share of the width of the border
ALONG_DEG = 2.0  # an edge along the grain differs from it by less
STRAIGHT = 0.002  # a straight edge leaves its chord by less than this share of its length
LONG = 0.4  # a centre or side is at least this share of the piece's height
LEVEL = 0.01  # a grain that rises by less of its length lies across the page
CARRY = 0.2  # names are carried between edges nearer than this share of the piece


@dataclass(frozen=True)
class _Look:
    """What is seen of an edge with the grain upright; places are 0 to 1 over the piece."""

    begin: Array
    end: Array
    middle: Array
    outward: Array
    rise: float
    straight: bool
    along: bool

    @property
    def low(self) -> float:
        return float(min(self.begin[1], self.end[1]))

    @property
    def high(self) -> float:
        return float(max(self.begin[1], self.end[1]))

    @property
    def is_centre(self) -> bool:
        """Whether it is straight, along the grain, long, and at the border of the piece."""
        at_border = not BORDER < self.middle[0] < 1 - BORDER
        return self.straight and self.along and self.rise >= LONG and at_border

    def distance_to(self, other: _Look) -> float:
        """How far its ends and its middle lie from those of another, in the mean."""
        own, its = (self.begin, self.end, self.middle), (other.begin, other.end, other.middle)
        return float(sum(np.hypot(*(p - q)) for p, q in zip(own, its, strict=True)) / 3)


def turn_upright(grain: Array) -> Array:
    """The grain's unit vector, turned so that it points up the page (or to the right).

    Rounding tilts a grain across the page a little up or down; that must not turn it round.
    """
    unit = np.asarray(grain, dtype=np.float64) / float(np.hypot(*grain))
    down = unit[1] < -LEVEL or (abs(unit[1]) <= LEVEL and unit[0] < 0)
    return -unit if down else unit


def name_edges(edges: Sequence[Array], up: Array, fold: int | None = None) -> tuple[str, ...]:
    """Names of the edges of a counter-clockwise outline, in their order.

    Parameters
    ----------
    edges : sequence of (n, 2) arrays, mm
    up : (2,) array
        Unit vector that is upright on the piece, see `upright`.
    fold : int or None
        The edge on the fold of the cloth; it is called ``centre``.
    """
    looks = _look_at(edges, up)
    count = len(looks)
    names: dict[int, str] = {} if fold is None else {fold: "centre"}
    free = [i for i in range(count) if i not in names]
    top = _only_one([i for i in free if looks[i].outward[1] > 0.7 and looks[i].low > 1 - ZONE])
    hem = _only_one([i for i in free if looks[i].outward[1] < -0.7 and looks[i].high < ZONE])
    names |= {i: name for i, name in ((top, "top"), (hem, "hem")) if i is not None}
    centre = fold
    if centre is None:
        free = [i for i in range(count) if i not in names]
        centre = _only_one([i for i in free if looks[i].is_centre])
        names |= {} if centre is None else {centre: "centre"}
    for sign, plain in ((-1.0, "left"), (1.0, "right")):
        free = [i for i in range(count) if i not in names]
        long = [i for i in free if looks[i].outward[0] * sign > 0.7 and looks[i].rise >= LONG]
        side = _only_one(long)
        if side is not None and centre is None:
            names[side] = plain
        elif side is not None and centre is not None and looks[centre].outward[0] * sign < 0:
            names[side] = "side"
    # A counter-clockwise outline runs along its top from right to left, so the first edge
    # clockwise is the top, else the one that ends at the upper left.
    first = top
    if first is None:
        scores = [float(look.end[1] - look.end[0]) for look in looks]
        first = int(np.argmax(np.round(scores, 6)))
    for step in range(count):
        names.setdefault((first - step) % count, f"edge_{step + 1}")
    return tuple(names[i] for i in range(count))


def cut_ring(points: Array, starts: Sequence[int]) -> list[Array]:
    """Cut a ring at vertices; each stretch runs from one to the next, ends included."""
    count = len(points)
    twice = np.concatenate([points, points])
    ends = [*starts[1:], starts[0]]
    return [
        twice[start : (end if end > start else end + count) + 1]
        for start, end in zip(starts, ends, strict=True)
    ]


def name_outlines(
    piece: str,
    outlines: Mapping[str, BareOutline],
    base: str,
    *,
    angle: float = CORNER_DEG,
    folds: Mapping[str, tuple[int, int]] | None = None,
) -> tuple[CommonCorners, tuple[str, ...]]:
    """Split the outline of a piece at the same corners in every size, and name the edges.

    Parameters
    ----------
    piece, base : str
    outlines : mapping of size to BareOutline
    angle : float
        Least turn at a corner, degrees.
    folds : mapping of size to two vertices, or None
        Where the fold begins and ends in every size; the edge between them is the centre.

    Returns
    -------
    corners : CommonCorners
        Edge k of a size runs from vertex ``corners.at[size][k]`` to the next one.
    names : tuple of str
        The same for every size.

    Raises
    ------
    FormatError
        See `common_corners`.
    """
    found = common_corners(piece, outlines, base, angle, folds)
    main = outlines[base]
    starts = found.at[base]
    on_fold = None if folds is None else starts.index(folds[base][0])
    return found, name_edges(cut_ring(main.points, starts), main.up, on_fold)


def _look_at(edges: Sequence[Array], up: Array) -> list[_Look]:
    across = np.array([up[1], -up[0]])
    turned = [np.asarray(edge) @ np.column_stack([across, up]) for edge in edges]
    ring = np.concatenate(turned)
    low, size = ring.min(axis=0), np.maximum(np.ptp(ring, axis=0), 1e-9)
    looks = []
    for edge in turned:
        chord = edge[-1] - edge[0]
        length = float(np.hypot(*chord))
        steps = np.hypot(*np.diff(edge, axis=0).T)
        middle = ((edge[:-1] + edge[1:]) / 2 * steps[:, None]).sum(axis=0) / steps.sum()
        along = chord / max(length, 1e-9)
        rel = edge - edge[0]
        bow = float(np.abs(rel[:, 0] * along[1] - rel[:, 1] * along[0]).max())
        tilt = float(np.degrees(np.arcsin(min(1.0, abs(float(along[0]))))))
        looks.append(
            _Look(
                begin=(edge[0] - low) / size,
                end=(edge[-1] - low) / size,
                middle=(middle - low) / size,
                outward=np.array([along[1], -along[0]]),
                rise=float(abs(chord[1]) / size[1]),
                straight=bow <= STRAIGHT * max(length, 1e-9),
                along=tilt <= ALONG_DEG,
            )
        )
    return looks


def _only_one(found: Sequence[int]) -> int | None:
    return found[0] if len(found) == 1 else None


def carry_names(
    old: Sequence[tuple[str, Array]], old_up: Array, new: Sequence[Array], new_up: Array
) -> tuple[str | None, ...]:
    """Names for `new` edges from an `old` outline of the same piece.

    Each edge is known by the places of its ends and its middle on the piece, with the
    grain upright; None for an edge that has no counterpart.
    """
    before, after = _look_at([edge for _, edge in old], old_up), _look_at(new, new_up)
    pairs = sorted(
        (a.distance_to(b), i, j) for i, a in enumerate(before) for j, b in enumerate(after)
    )
    taken: dict[int, str] = {}
    used: set[int] = set()
    for gap, i, j in pairs:
        if gap < CARRY and i not in used and j not in taken:
            taken[j] = old[i][0]
            used.add(i)
    return tuple(taken.get(j) for j in range(len(after)))


def rename_edges(
    piece: SizedPiece, names: Mapping[str, str], marks: Mapping[str, str] | None = None
) -> SizedPiece:
    """A piece with edges renamed that `names` has, and landmarks; what stands on them follows."""
    marks = marks or {}
    return replace(
        piece,
        edges=tuple(replace(edge, name=names.get(edge.name, edge.name)) for edge in piece.edges),
        landmarks=tuple(
            replace(
                mark, name=marks.get(mark.name, mark.name), edge=names.get(mark.edge, mark.edge)
            )
            for mark in piece.landmarks
        ),
        darts=tuple(
            replace(
                dart,
                edge=names.get(dart.edge, dart.edge),
                legs=(marks.get(dart.legs[0], dart.legs[0]), marks.get(dart.legs[1], dart.legs[1])),
            )
            for dart in piece.darts
        ),
    )
