"""Edges that a dart divided, as the one edge that they are when it is sewn."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

from propagate.geometry.polyline import join
from propagate.pattern.model import Dart, Edge, SizedPiece, frozen_points

__all__ = ["chain_edges", "put_on_one_edge"]


def chain_edges(parts: Sequence[Edge]) -> Edge:
    """One edge of several in a row, called as the first; where they met is a turn point."""
    turns = list(parts[0].turns)
    done = len(parts[0].points) - 1
    for part in parts[1:]:
        turns += [done, *(done + turn for turn in part.turns)]
        done += len(part.points) - 1
    return Edge(parts[0].name, frozen_points(join([part.points for part in parts])), tuple(turns))


def put_on_one_edge(
    piece: SizedPiece, edge: Edge, others: Collection[str], dart: Dart
) -> SizedPiece:
    """The piece with `edge` for that of its name and for `others`, and another dart on it."""
    return replace(
        piece,
        edges=tuple(
            edge if one.name == edge.name else one for one in piece.edges if one.name not in others
        ),
        darts=(
            *(replace(one, edge=edge.name) if one.edge in others else one for one in piece.darts),
            dart,
        ),
    )
