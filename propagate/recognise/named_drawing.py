"""One drawing of a piece by the names of another that it is laid round."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Protocol

from propagate.pattern.model import InternalLine, SizedPiece, frozen_points
from propagate.pattern.names import free_name
from propagate.recognise.edge_names import rename_edges
from propagate.recognise.joined_edges import chain_edges
from propagate.recognise.marks_matched import match_darts, match_inside, match_marks
from propagate.recognise.piece_looks import Laid
from propagate.values import dataclass

__all__ = ["NamedDrawing", "name_drawing"]


@dataclass(frozen=True)
class NamedDrawing:
    """A piece in all its sizes by other names.

    Attributes
    ----------
    nest : mapping of size to SizedPiece
        The outline begins as that of the piece before.
    edges, marks : mapping of name now to name to be
    """

    nest: Mapping[str, SizedPiece]
    edges: Mapping[str, str]
    marks: Mapping[str, str]


def name_drawing(
    nest: Mapping[str, SizedPiece], base: str, before: SizedPiece, laid: Laid
) -> NamedDrawing:
    """Name edges, and what is on them and inside, as in a drawing before.

    Parameters
    ----------
    nest : mapping of size to SizedPiece
    base : str
        The size in which it was laid round the other.
    before : SizedPiece
    laid : Laid
    """
    edges: dict[str, str] = {}
    taken = set(before.edge_names)
    for was, now in zip(laid.old, laid.new, strict=True):
        name = was[0] if len(was) == 1 else free_name(now[0], taken)
        taken.add(name)
        edges |= dict.fromkeys(now, name)
    groups = [names for names in laid.new if len(names) > 1]
    whole = {size: rename_edges(_join_edges(one, groups), edges) for size, one in nest.items()}
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
    return NamedDrawing(named, edges, marks)


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
