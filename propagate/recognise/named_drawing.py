"""One drawing of a piece by the names of another that it is laid round."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from typing import Protocol

import numpy as np

from propagate.geometry.polyline import as_pair, point_at
from propagate.pattern.model import InternalLine, Landmark, Piece, SizedPiece, frozen_points
from propagate.pattern.names import free_name
from propagate.recognise.darts_like import find_darts_like
from propagate.recognise.edge_names import rename_edges
from propagate.recognise.joined_edges import chain_edges
from propagate.recognise.marks_matched import match_darts, match_inside, match_marks
from propagate.recognise.piece_looks import Laid
from propagate.tolerances import ON_LINE_MM
from propagate.values import dataclass

__all__ = ["NamedDrawing", "name_drawing"]

SAME_MM = 5.0 * ON_LINE_MM
"""What differs by less over the sizes is the same in all."""
_Placed = Callable[[float], float]
"""From the length of an edge to a place on it, mm."""


@dataclass(frozen=True)
class NamedDrawing:
    """A piece in all its sizes by other names.

    Attributes
    ----------
    nest : mapping of size to SizedPiece
        The outline begins as that of the piece before.
    edges, marks : mapping of name now to name to be
    drawn : mapping of landmark to words
        Plain marks that the drawing does not show, and where they were put.
    darts : tuple of str
        Those for whose legs notches were taken.
    """

    nest: Mapping[str, SizedPiece]
    edges: Mapping[str, str]
    marks: Mapping[str, str]
    drawn: Mapping[str, str]
    darts: tuple[str, ...]


def name_drawing(
    nest: Mapping[str, SizedPiece], base: str, was: Piece, was_base: str, laid: Laid
) -> NamedDrawing:
    """Name edges, and what is on them and inside, as in a drawing before.

    Parameters
    ----------
    nest : mapping of size to SizedPiece
    base : str
        The size in which it was laid round the other.
    was : Piece
    was_base : str
        The piece before, and the size of it that the other was laid round.
    laid : Laid
    """
    before = was.at(was_base)
    edges: dict[str, str] = {}
    taken = set(before.edge_names)
    for olds, now in zip(laid.old, laid.new, strict=True):
        name = olds[0] if len(olds) == 1 else free_name(now[0], taken)
        taken.add(name)
        edges |= dict.fromkeys(now, name)
    groups = [names for names in laid.new if len(names) > 1]
    whole = {size: rename_edges(_join_edges(one, groups), edges) for size, one in nest.items()}
    whole = dict(find_darts_like(whole, base, before))
    sample = whole[base]
    marks = _name_all(match_marks(before, sample), sample.landmarks, before.landmarks)
    darts = _name_all(match_darts(before, sample), sample.darts, before.darts)
    inside = match_inside(before, sample)
    lines = _name_all(inside.lines, sample.lines, before.lines)
    drills = _name_all(inside.drills, sample.drills, before.drills)
    named = {}
    for size, sized in whole.items():
        own = rename_edges(sized, {}, marks)
        called = own.edge_names
        start = next((called.index(edge) for edge in before.edge_names if edge in called), 0)
        named[size] = replace(
            own,
            edges=(*own.edges[start:], *own.edges[:start]),
            darts=tuple(replace(one, name=darts[one.name]) for one in own.darts),
            lines=tuple(_name_line(one, lines[one.name], inside.back) for one in own.lines),
            drills=tuple(replace(one, name=drills[one.name]) for one in own.drills),
            pleats=(),  # the set tells pleats by its own names
        )
    drawn: dict[str, str] = {}
    for mark in before.landmarks:
        # Most formats draw notches alone; a plain mark is where the set has it.
        shown = named[base].find_landmark(mark.name) is not None
        if mark.kind == "mark" and not shown and mark.edge in named[base].edge_names:
            place, drawn[mark.name] = _tell_place(list(was.nest.values()), mark)
            named = {size: _with_mark(one, mark, place) for size, one in named.items()}
    shown_darts = {dart.name for dart in nest[base].darts}
    taken_for = tuple(darts[dart.name] for dart in sample.darts if dart.name not in shown_darts)
    return NamedDrawing(named, edges, marks, drawn, taken_for)


def _tell_place(nest: Sequence[SizedPiece], mark: Landmark) -> tuple[_Placed, str]:
    """Where a mark lies on its edge over the sizes: as far from an end, else at a share of it."""
    at = np.array([one.distance(mark.edge, mark.name) for one in nest])
    lengths = np.array([one.edge(mark.edge).length for one in nest])
    if float(np.ptp(at)) <= SAME_MM:
        far = float(at.mean())
        return (lambda _: far), f"{far:.1f} mm from the start of '{mark.edge}'"
    if float(np.ptp(lengths - at)) <= SAME_MM:
        left = float((lengths - at).mean())
        return (lambda long: long - left), f"{left:.1f} mm from the end of '{mark.edge}'"
    share = float((at / lengths).mean())
    return (lambda long: share * long), f"at {100.0 * share:.0f}% of '{mark.edge}'"


def _with_mark(piece: SizedPiece, mark: Landmark, place: _Placed) -> SizedPiece:
    edge = piece.edge(mark.edge)
    at = min(max(place(edge.length), 0.0), edge.length)
    put = replace(mark, point=as_pair(point_at(edge.points, at)))
    return replace(piece, landmarks=(*piece.landmarks, put))


class _Called(Protocol):
    @property
    def name(self) -> str: ...


def _name_all(
    found: Mapping[str, str], now: Sequence[_Called], before: Sequence[_Called]
) -> dict[str, str]:
    """Every name now to one to be; what was not found takes no name of the set before."""
    taken, to_be = {*(one.name for one in before), *found.values()}, dict(found)
    for one in now:
        if one.name not in to_be:
            to_be[one.name] = free_name(one.name, taken)
            taken.add(to_be[one.name])
    return to_be


def _name_line(line: InternalLine, name: str, back: Collection[str]) -> InternalLine:
    """A line by another name, and from its other end where it was drawn so."""
    return InternalLine(name, frozen_points(line.points[::-1]) if name in back else line.points)


def _join_edges(piece: SizedPiece, groups: Sequence[tuple[str, ...]]) -> SizedPiece:
    """A piece in which several edges in a row are one, called as the first of them."""
    if not groups:
        return piece
    first = {name: group[0] for group in groups for name in group}
    whole = {group[0]: chain_edges([piece.edge(name) for name in group]) for group in groups}
    return replace(
        piece,
        edges=tuple(
            whole.get(edge.name, edge)
            for edge in piece.edges
            if first.get(edge.name, edge.name) == edge.name
        ),
        landmarks=tuple(replace(m, edge=first.get(m.edge, m.edge)) for m in piece.landmarks),
        darts=tuple(replace(d, edge=first.get(d.edge, d.edge)) for d in piece.darts),
    )
