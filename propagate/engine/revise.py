"""Receive revised main pieces: find what changed, carry it to all sizes and companions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from propagate.engine.carry import Result
from propagate.engine.edits.replace import replace_pieces
from propagate.engine.record import Record, Status
from propagate.engine.register import Registered, register
from propagate.engine.reshape import rounded
from propagate.errors import EditError, UnknownName
from propagate.geometry.densify import densify_smoothly
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import arc_lengths, locate, point_at
from propagate.pattern.model import Edge, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.tolerances import RESTS_MM, STEP_MM

__all__ = ["Revised", "RevisedEdge", "revise"]

Array = npt.NDArray[np.float64]
Carry = Literal["millimetres", "proportion"]


@dataclass(frozen=True)
class RevisedEdge:
    """What became of one edge of a revised piece in one size.

    `carried` is "as drawn", or how the base size's change came here: "millimetres" or
    "proportion".
    """

    piece: str
    size: str
    edge: str
    status: Status
    carried: str


@dataclass(frozen=True)
class Revised:
    """A revised set and how it came about.

    Attributes
    ----------
    pattern : PatternSet
        All sizes.
    edges : tuple of RevisedEdge
    records : mapping of size to Record
        Of the sizes in which something changed.
    """

    pattern: PatternSet
    edges: tuple[RevisedEdge, ...]
    records: Mapping[str, Record]

    @property
    def changed(self) -> bool:
        """Whether anything was revised at all."""
        return any(edge.status != "same" for edge in self.edges)


def revise(
    pattern: PatternSet,
    revised: Mapping[str, Piece],
    *,
    tolerance: float = 0.05,
    carry: Carry = "millimetres",
) -> Revised:
    """Put revised pieces into a set and carry the change to every companion.

    Parameters
    ----------
    pattern : PatternSet
    revised : mapping of piece name to Piece
        In frames of their own; a piece that has only the base size is carried to the
        other sizes.
    tolerance : float
        mm within which an edge counts as the same.
    carry : "millimetres" or "proportion"
        How a change of the base size is carried: by the same millimetres, or in
        proportion to the length of each edge.

    Returns
    -------
    Revised

    Raises
    ------
    UnknownName
        For a piece or size that the set does not have.
    EditError
        When a piece cannot be laid on the old one, or its corners came or went.
    Conflict
        When both sides of a seam were revised and disagree.
    """
    given: dict[str, dict[str, SizedPiece]] = {size: {} for size in pattern.sizes}
    edges: list[RevisedEdge] = []
    for name in sorted(revised):
        found = _registered(pattern, name, revised[name], tolerance)
        for size in pattern.sizes:
            if size in found:
                new, statuses = found[size].piece, found[size].statuses
                said = "as drawn"
            else:
                source = found[pattern.base]
                old = pattern.sized(name, pattern.base)
                new = _carried(old, source, pattern.sized(name, size), carry)
                statuses, said = source.statuses, str(carry)
            edges += [RevisedEdge(name, size, e, status, said) for e, status in statuses]
            if new is not pattern.sized(name, size) and any(s != "same" for _, s in statuses):
                given[size][name] = new
    results = {size: replace_pieces(pattern, size, g) for size, g in given.items() if g}
    return Revised(
        _merged(pattern, results), tuple(edges), {s: r.record for s, r in results.items()}
    )


def _registered(
    pattern: PatternSet, name: str, piece: Piece, tolerance: float
) -> dict[str, Registered]:
    if name not in pattern.pieces:
        raise UnknownName("piece", name, list(pattern.pieces), f"set '{pattern.name}'")
    found = {}
    for size in piece.nest:
        if size not in pattern.sizes:
            raise UnknownName("size", size, pattern.sizes, f"revised piece '{name}'")
        where = f"set '{pattern.name}', piece '{name}', size '{size}'"
        found[size] = register(
            pattern.sized(name, size), piece.at(size), tolerance=tolerance, where=where
        )
    missing = [size for size in pattern.sizes if size not in found]
    if missing and pattern.base not in found:
        raise EditError(
            f"set '{pattern.name}', revised piece '{name}': sizes {', '.join(missing)} are missing "
            f"and so is the base size '{pattern.base}', from which they could be carried; send "
            "the base size or all sizes"
        )
    return found


def _carried(
    base_old: SizedPiece, base_new: Registered, other: SizedPiece, carry: Carry
) -> SizedPiece:
    """Carry a change of the base size to another size, edge by edge.

    The displacement at each share of an edge's length is the base's, turned with the
    grain; in proportion it is scaled by the lengths of the edges.  Corners take the mean
    of their two edges.
    """
    spin = complex(*other.grain.direction) / complex(*base_old.grain.direction)
    turn = Motion(spin / abs(spin))
    corners = _corner_moves(base_old, base_new.piece, other, turn, carry)
    edges = []
    for i, (was, now, mine) in enumerate(
        zip(base_old.edges, base_new.piece.edges, other.edges, strict=True)
    ):
        if now == was:
            edges.append(mine)
            continue
        scale = mine.length / was.length if carry == "proportion" else 1.0
        # A straight edge has two points in one size and must still take a curve on.
        points = densify_smoothly(mine.points, STEP_MM)
        share = arc_lengths(points)
        share = share / share[-1]
        moves = scale * turn.apply(_displacement(was, now, share))
        # Ends follow the corners, which both neighbours share.
        start, end = corners[i] - moves[0], corners[(i + 1) % len(corners)] - moves[-1]
        moves = moves + np.outer(1 - share, start) + np.outer(share, end)
        turns = mine.points[list(mine.turns)].reshape(-1, 2)
        kept = [_vertex(points, turn) for turn in turns]
        edges.append(Edge(mine.name, rounded(points + moves), tuple(kept)))
    for i, edge in enumerate(edges):
        previous = edges[i - 1]
        if (edge.points[0] != previous.points[-1]).any():
            points = edge.points.copy()
            points[0] = previous.points[-1]
            edges[i] = Edge(edge.name, points, edge.turns)
    new = replace(other, edges=tuple(edges))
    return replace(new, landmarks=tuple(_follow(other, new, mark) for mark in other.landmarks))


def _vertex(points: Array, point: Array) -> int:
    """Index of the vertex nearest to a point."""
    return int(np.hypot(*(points - point).T).argmin())


def _displacement(was: Edge, now: Edge, share: Array) -> Array:
    """Displacement (n, 2) of an edge at shares (n,) of its length."""
    arc = arc_lengths(now.points)
    columns = [
        np.interp(share * arc[-1], arc, now.points[:, k])
        - np.interp(share * was.length, was.arc, was.points[:, k])
        for k in (0, 1)
    ]
    return np.column_stack(columns)


def _corner_moves(
    was: SizedPiece, now: SizedPiece, other: SizedPiece, turn: Motion, carry: Carry
) -> list[Array]:
    """Displacement of each corner (the start of each edge) in the other size."""
    moves = []
    for i, (a, b) in enumerate(zip(was.edges, now.edges, strict=True)):
        scale = 1.0
        if carry == "proportion":
            pairs = ((other.edges[i], a), (other.edges[i - 1], was.edges[i - 1]))
            scale = float(np.mean([mine.length / base.length for mine, base in pairs]))
        moves.append(scale * turn.apply(b.points[0] - a.points[0]))
    return moves


def _follow(old: SizedPiece, new: SizedPiece, mark: Landmark) -> Landmark:
    edge = new.edge(mark.edge)
    if edge is old.edge(mark.edge) or locate(edge.points, mark.point)[1] <= RESTS_MM:
        return mark
    share = old.distance(mark.edge, mark.name) / old.edge(mark.edge).length
    x, y = rounded(point_at(edge.points, share * edge.length))
    return replace(mark, point=(float(x), float(y)))


def _merged(pattern: PatternSet, results: Mapping[str, Result]) -> PatternSet:
    """The set with the changed pieces of every size put in; the others are the same objects."""
    pieces = dict(pattern.pieces)
    for size, result in results.items():
        for change in result.record.pieces:
            new = result.pattern.sized(change.piece, size)
            if new != pattern.sized(change.piece, size):
                nest = {**pieces[change.piece].nest, size: new}
                pieces[change.piece] = Piece(change.piece, nest)
    return replace(pattern, pieces=pieces)
