"""Inner lines that run parallel to several edges, one after the other.

A row of stitching above a hem that is made of two edges, or round a corner: it lies on the parallel
of these edges as one line, its corners where that has them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby, pairwise

import numpy as np

from propagate.geometry.arrays import Array
from propagate.geometry.parallel import offset_line
from propagate.geometry.polyline import join, locate_all
from propagate.pattern.model import SizedPiece

__all__ = ["EVEN_MM", "RUN_ON_MM", "parallel_inside", "widths_along"]

EVEN_MM = 0.2
"""A line whose distance from an edge differs by less is parallel to it (a pencil line)."""
RUN_ON_MM = 50.0
"""A line may go on beyond the end of its edge by so much."""
_FEW = 9
"""Places of a line at which is seen whether a longer look is worth it."""
_LEAST = 3
"""A line that lies along an edge at fewer places, 5 mm apart, only comes by there."""


def parallel_inside(piece: SizedPiece, edges: Sequence[str], width: float) -> Array:
    """Return the parallel of edges that follow each other, inside of them, run on straight, mm."""
    chain = join([piece.edge(edge).points for edge in edges])
    return offset_line(chain[::-1], width, run_on=(RUN_ON_MM, RUN_ON_MM))[::-1]


def widths_along(
    piece: SizedPiece, points: Array, nest: Iterable[tuple[SizedPiece, Array]]
) -> tuple[tuple[str, ...], list[float]]:
    """Return the edges that a line is parallel to in every size, and how far in each; or none.

    Parameters
    ----------
    points : (n, 2) array
        Of the line on it, close together.
    nest : iterable of (SizedPiece, (m, 2) array)
        The same in the other sizes.
    """
    edges = _chain_along(piece, points)
    found: list[float] = []
    for one, line in ((piece, points), *nest) if edges else ():
        width = _beside_chain(one, line, edges)
        if width is None:
            return (), []
        found.append(width)
    return edges, found


def _chain_along(piece: SizedPiece, points: Array) -> tuple[str, ...]:
    """Find edges, in outline order, beside which a line lies one after the other; or none.

    Parameters
    ----------
    points : (n, 2) array
        Of the line, close together.
    """
    ring = np.vstack([piece.outline, piece.outline[:1]])
    few = points[np.linspace(0, len(points) - 1, _FEW).astype(int)]
    gaps = locate_all(ring, few)[1]
    width = float(np.median(gaps))
    if width <= EVEN_MM or 2 * np.count_nonzero(np.abs(gaps - width) <= EVEN_MM) <= _FEW:
        return ()
    along, gaps = locate_all(ring, points)
    lengths = np.cumsum([edge.length for edge in piece.edges])
    own = np.searchsorted(lengths, along[np.abs(gaps - width) <= EVEN_MM]).clip(0, len(lengths) - 1)
    beside = [i for i, places in groupby(own.tolist()) if len(list(places)) >= _LEAST]
    seen = [i for i, _ in groupby(beside)]
    steps = {(b - a) % len(lengths) for a, b in pairwise(seen)}
    if len(seen) < 2 or len(set(seen)) < len(seen) or len(seen) == len(lengths):
        return ()
    names = piece.edge_names
    if steps == {1}:
        return tuple(names[i] for i in seen)
    return tuple(names[i] for i in seen[::-1]) if steps == {len(lengths) - 1} else ()


def _beside_chain(piece: SizedPiece, points: Array, edges: Sequence[str]) -> float | None:
    """Measure how far inside of edges a line is their parallel, mm; None where it is not."""
    if any(edge not in piece.edge_names for edge in edges):
        return None
    chain = join([piece.edge(edge).points for edge in edges])
    width = float(np.median(locate_all(chain, points)[1]))
    if width <= EVEN_MM:
        return None
    off = locate_all(parallel_inside(piece, edges, width), points)[1]
    return width if 2.0 * float(off.max()) <= EVEN_MM else None
