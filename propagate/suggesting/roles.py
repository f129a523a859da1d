"""Which pieces look like the roles of a kind of garment, and which edge of each is which."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import combinations

import numpy as np
import numpy.typing as npt

from propagate.pattern.garments import EdgeShape, Role
from propagate.pattern.relations import Run, Span
from propagate.suggesting.nest import Nest, measure_lean
from propagate.values import dataclass

__all__ = ["Cast", "Side", "Sides", "list_casts"]

Array = npt.NDArray[np.float64]
Edges = tuple[str, ...]

RUNS_ON_DEG = 30.0
"""A corner that turns less may be one that only a drawing has, in the middle of an edge."""
MOST_SPLITS = 2
"""So many of its edges may be drawn in two."""


@dataclass(frozen=True)
class Side:
    """One or two edges of a piece that are taken for one edge of a role.

    Attributes
    ----------
    edges : tuple of edge names, along the outline
    lengths : (sizes,) array, mm, darts closed
    lean, share, bow : float
        As in `EdgeShape`, in the base size.
    """

    edges: Edges
    lengths: Array
    lean: float
    share: float
    bow: float

    def fits(self, shape: EdgeShape) -> bool:
        """Whether it looks as a role says."""
        told = ((self.lean, shape.lean), (self.share, shape.share), (self.bow, shape.bow))
        return all(range_ is None or range_[0] <= own <= range_[1] for own, range_ in told)


@dataclass(frozen=True)
class Cast:
    """A piece in a role.

    Attributes
    ----------
    piece : str
    sides : mapping of the role's edge to Side
    turned : bool
        The piece is drawn as the mirror image of the role.
    """

    piece: str
    sides: Mapping[str, Side]
    turned: bool

    def spans(self, edge: str, *, back: bool) -> Run:
        """The edges of a side, in the role's own direction or back."""
        names = self.sides[edge].edges
        if self.turned == back:
            return tuple(Span(self.piece, name) for name in names)
        return tuple(Span(self.piece, name, "end", "start") for name in reversed(names))


class Sides:
    """The sides of all pieces, each measured once."""

    def __init__(self, nest: Nest) -> None:
        self._nest = nest
        self._known: dict[tuple[str, Edges], Side] = {}

    def of(self, piece: str, edges: Edges) -> Side:
        """The edges of a piece as one side."""
        found = self._known.get((piece, edges))
        if found is None:
            found = self._known[piece, edges] = _measure_side(self._nest, piece, edges)
        return found


def list_casts(nest: Nest, sides: Sides, piece: str, role: Role) -> Iterator[Cast]:
    """Every way in which a piece may have a role: turned or not, begun at any edge."""
    plain = EdgeShape()
    for outline in role.outlines:
        count = len(outline)
        for grouped in _group_edges(nest, piece, count):
            row = [sides.of(piece, edges) for edges in grouped]
            for turned in (False, True):
                for first in range(count):
                    found = {
                        edge: row[(first - k if turned else first + k) % count]
                        for k, edge in enumerate(outline)
                    }
                    if all(side.fits(role.edges.get(edge, plain)) for edge, side in found.items()):
                        yield Cast(piece, found, turned)


def _group_edges(nest: Nest, piece: str, count: int) -> Iterator[list[Edges]]:
    """Every way to take the edges of a piece for so many, some being drawn in two."""
    names = nest.outline_names(piece)
    more = len(names) - count
    if more == 0:
        yield [(name,) for name in names]
    if not 0 < more <= MOST_SPLITS:
        return
    smooth = [
        i
        for i in range(len(names))
        if float(np.abs(nest.corners[piece, i] - 180.0).max()) <= RUNS_ON_DEG
    ]
    for joined in combinations(smooth, more):
        # Edge i is one with the next for every i that is joined.
        first = next(i + 1 for i in range(len(names)) if i not in joined)
        found: list[Edges] = []
        for k in range(first, first + len(names)):
            own = (names[k % len(names)],)
            if k > first and (k - 1) % len(names) in joined:
                found[-1] += own
            else:
                found.append(own)
        yield found


def _measure_side(nest: Nest, piece: str, edges: Edges) -> Side:
    sized = nest.in_base(piece)
    points = np.concatenate([sized.edge(edge).points for edge in edges])
    chord = points[-1] - points[0]
    straight = max(float(np.hypot(*chord)), 1e-9)
    along = measure_lean(points, np.asarray(sized.grain.direction))
    x, y = points.T
    # Twice the area between the line and its chord; what lies right of the chord bulges out.
    area = float((x[:-1] * y[1:] - x[1:] * y[:-1]).sum() + x[-1] * y[0] - x[0] * y[-1])
    round_ = sum(sized.edge(name).length for name in sized.edge_names)
    long = sum(sized.edge(edge).length for edge in edges)
    return Side(
        edges,
        np.sum([nest.edges[f"{piece}.{edge}"].lengths for edge in edges], axis=0),
        float(np.degrees(np.arccos(min(along, 1.0)))),
        long / round_,
        0.75 * area / straight**2,
    )
