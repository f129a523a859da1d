"""Give the edges and landmarks of a style that is read again the names it had before."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from propagate.errors import FormatError, UnknownName
from propagate.pattern.info import PieceInfo
from propagate.pattern.model import Dart, Edge, Landmark, Piece, SizedPiece
from propagate.pattern.names import free_name
from propagate.pattern.patternset import PatternSet
from propagate.recognise.edge_names import carry_names, upright
from propagate.values import dataclass

__all__ = ["Carried", "rename_like", "rename_pieces"]

NEAR_SHARE = 0.05  # a landmark is the old one when it lies this near on its edge


@dataclass(frozen=True)
class Carried:
    """What became of the names of one piece.

    Attributes
    ----------
    piece : str
    fresh : tuple of str
        Edges of the new drawing that the old set does not have.
    gone : tuple of str
        Edges and landmarks of the old set that the new drawing does not have.
    """

    piece: str
    fresh: tuple[str, ...]
    gone: tuple[str, ...]


def rename_pieces(pattern: PatternSet, names: Mapping[str, str]) -> PatternSet:
    """Give pieces of bare geometry other names, each in its place.

    Parameters
    ----------
    pattern : PatternSet
    names : mapping of new name to the name it was read with

    Raises
    ------
    UnknownName
        No piece has a name that was given.
    FormatError
        Two pieces would have one name.
    """
    olds = {old: new for new, old in names.items()}
    for old in olds:
        if old not in pattern.pieces:
            raise UnknownName("piece", old, list(pattern.pieces))
    new = {name: olds.get(name, name) for name in pattern.pieces}
    twice = [name for name in names if list(new.values()).count(name) > 1]
    if twice or len(olds) < len(names):
        raise FormatError(
            f"found the name '{(twice or list(names))[0]}' for two pieces, expected a name of its "
            f"own for each; the pieces are {', '.join(pattern.pieces)}"
        )
    return replace(
        pattern,
        pieces={new[name]: Piece(new[name], piece.nest) for name, piece in pattern.pieces.items()},
        info={new[name]: _titled(info, name, new[name]) for name, info in pattern.info.items()},
    )


def _titled(info: PieceInfo, old: str, new: str) -> PieceInfo:
    """A title that was nothing but the name goes with it."""
    return replace(info, title=new) if info.title == old else info


def rename_like(pattern: PatternSet, old: PatternSet) -> tuple[PatternSet, tuple[Carried, ...]]:
    """Name edges and landmarks of `pattern` as in `old`, where they lie in the same place.

    Pieces are matched by name; a piece that `old` does not have keeps its names.  The
    outline starts at the old first edge.
    """
    pieces = dict(pattern.pieces)
    info = dict(pattern.info)
    said: list[Carried] = []
    for name, piece in pattern.pieces.items():
        if name not in old.pieces:
            continue
        before = old.sized(name, old.base)
        now = piece.at(pattern.base)
        edges, fresh = _edge_names(before, now)
        marks = _landmark_names(before, now, edges)
        pieces[name] = Piece(
            name,
            {size: _renamed(sized, edges, marks, before) for size, sized in piece.nest.items()},
        )
        fold, strip = info[name].fold, info[name].strip
        info[name] = replace(
            info[name],
            fold=None if fold is None else edges[fold],
            strip=None if strip is None else tuple(edges[edge] for edge in strip),
            double_notches=tuple(marks.get(m, m) for m in info[name].double_notches),
        )
        kept = {*edges.values(), *marks.values()}
        gone = [word for word in before.edge_names if word not in kept]
        gone += [mark.name for mark in before.landmarks if mark.name not in kept]
        if fresh or gone:
            said.append(Carried(name, tuple(fresh), tuple(gone)))
    return replace(pattern, pieces=pieces, info=info), tuple(said)


def _edge_names(before: SizedPiece, now: SizedPiece) -> tuple[dict[str, str], list[str]]:
    """Name now to name to be, and the names to be that are new."""
    carried = carry_names(
        [(edge.name, edge.points) for edge in before.edges],
        upright(before.grain.direction),
        [edge.points for edge in now.edges],
        upright(now.grain.direction),
    )
    taken = {name for name in carried if name is not None} | set(before.edge_names)
    found: dict[str, str] = {}
    fresh: list[str] = []
    for edge, name in zip(now.edges, carried, strict=True):
        wanted = name or free_name(edge.name, taken)
        if name is None:
            fresh.append(wanted)
            taken.add(wanted)
        found[edge.name] = wanted
    return found, fresh


def _landmark_names(
    before: SizedPiece, now: SizedPiece, edges: Mapping[str, str]
) -> dict[str, str]:
    """The nearest old landmark of the same kind on the same edge gives its name."""
    pairs: list[tuple[float, str, str]] = []
    for mark in now.landmarks:
        name = edges[mark.edge]
        if name not in before.edge_names:
            continue
        place = now.distance(mark.edge, mark.name) / now.edge(mark.edge).length
        for other in before.landmarks_on(name):
            if other.kind == mark.kind:
                was = before.distance(name, other.name) / before.edge(name).length
                pairs.append((abs(place - was), mark.name, other.name))
    found: dict[str, str] = {}
    for gap, new, name in sorted(pairs):
        if gap <= NEAR_SHARE and new not in found and name not in found.values():
            found[new] = name
    taken = {*found.values(), *(mark.name for mark in before.landmarks)}
    for mark in now.landmarks:
        if mark.name not in found:
            found[mark.name] = free_name(mark.name, taken)
            taken.add(found[mark.name])
    return found


def _renamed(
    sized: SizedPiece,
    edges: Mapping[str, str],
    marks: Mapping[str, str],
    before: SizedPiece,
) -> SizedPiece:
    named = [Edge(edges[e.name], e.points, e.turns, e.path) for e in sized.edges]
    return replace(
        sized,
        edges=_from(named, before.edge_names),
        landmarks=tuple(
            Landmark(marks[m.name], edges[m.edge], m.point, m.kind) for m in sized.landmarks
        ),
        darts=tuple(
            Dart(d.name, edges[d.edge], (marks[d.legs[0]], marks[d.legs[1]]), d.tip)
            for d in sized.darts
        ),
        pleats=(),  # the set tells them by its own names
    )


def _from(edges: Sequence[Edge], order: Sequence[str]) -> tuple[Edge, ...]:
    """Start the outline at the first of the old edges that is there."""
    names = [edge.name for edge in edges]
    first = next((names.index(name) for name in order if name in names), 0)
    return (*edges[first:], *edges[:first])
