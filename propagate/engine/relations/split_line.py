"""The line along which an assembly is cut apart: a yoke seam, a panel seam.

It lies inside the silhouette.  Where it comes from is told by its ends: the size that gives
the silhouette there gives the line, and its ends are put on the new outline.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from propagate.engine.marks_on_lines import nearest_place, put_mark, share_place
from propagate.engine.reshape import Edited, rounded
from propagate.pattern.model import Edge, Landmark, SizedPiece
from propagate.pattern.patternset import PatternSet

__all__ = ["on_split_line", "parts_to_cut", "split_line"]


def parts_to_cut(pattern: PatternSet, silhouette: str) -> list[str]:
    """Pieces that are cut out of a silhouette: the lead, and the parts that are no layers."""
    relations = pattern.relations
    assembly = relations.assemblies.get(silhouette)
    if assembly is None:
        return [silhouette]
    lead, *parts = assembly.pieces
    return [lead, *(part for part in parts if part not in relations.layer_in)]


def split_line(
    edited: Edited, piece: str, edges: Sequence[Edge], index: int
) -> tuple[Edge, SizedPiece]:
    """A piece's edge inside the silhouette, its ends at its neighbours' new corners.

    Parameters
    ----------
    edges : sequence of Edge
        Of the piece, its edges on the silhouette cut out already.
    index : int
        Of the edge inside.

    Returns
    -------
    edge : Edge
    source : SizedPiece
        The piece in the size that gives the line, for the marks on it.
    """
    old = edges[index]
    before, after = edges[index - 1], edges[(index + 1) % len(edges)]
    placed = [edited.place(piece, mark) for mark in (f"{before.name}.end", f"{after.name}.start")]
    given_by = {"lower" if one is None else one.source for one in placed}
    source = edited.sources[given_by.pop() if len(given_by) == 1 else "lower"]
    sized = source.silhouette.sized[piece]
    line = sized.edge(old.name)
    if source.size != edited.sources["lower"].size:
        laid = source.motion.apply(source.silhouette.motions[piece].apply(line.points))
        home = edited.base.motions[piece].inverse()
        line = replace(line, points=rounded(home.apply(laid)), path=None)
    ends = np.array([before.points[-1], after.points[0]])
    if (ends == line.points[[0, -1]]).all():
        return line, sized
    # Turned and stretched as a whole, as is the other side of its seam.  They may bow to opposite
    # sides, as where a dart is closed in a yoke: fades would make one longer than the other.
    flat = line.points[:, 0] + 1j * line.points[:, 1]
    first, last = ends[:, 0] + 1j * ends[:, 1]
    placed_line = first + (flat - flat[0]) * (last - first) / (flat[-1] - flat[0])
    points = rounded(np.column_stack([placed_line.real, placed_line.imag]))
    points[[0, -1]] = ends
    return Edge(line.name, points, line.turns), sized


def on_split_line(edges: Sequence[Edge], source: SizedPiece, mark: Landmark) -> Landmark:
    """A mark on a line inside, at its share of the line in the size that gives it."""
    edge = next(edge for edge in edges if edge.name == mark.edge)
    known = {own.name for own in source.landmarks_on(mark.edge)}
    if mark.name in known:
        return put_mark(mark, edge, share_place(source, edge, mark))
    return put_mark(mark, edge, nearest_place(edge, mark.point))
