"""Give the edges and landmarks of a style that is read again the names it had before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from propagate.errors import FormatError, UnknownName
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.names import free_name
from propagate.pattern.patternset import PatternSet
from propagate.recognise.edge_names import carry_names, rename_edges, turn_upright
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

    @property
    def warnings(self) -> list[str]:
        """What is to be said of it."""
        said = (
            ("edges that the set before does not have", self.fresh),
            ("of the set before and not found again", self.gone),
        )
        return [f"{what}: {', '.join(names)}" for what, names in said if names]


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
        info={
            # A title that was nothing but the name goes with it.
            new[name]: replace(info, title=new[name]) if info.title == name else info
            for name, info in pattern.info.items()
        },
    )


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
        edges, fresh = _name_edges(before, now)
        marks = _name_landmarks(before, now, edges)
        nest = {}
        for size, sized in piece.nest.items():
            own = rename_edges(sized, edges, marks)
            called = own.edge_names
            first = next((called.index(edge) for edge in before.edge_names if edge in called), 0)
            # The set tells pleats by its own names.
            nest[size] = replace(own, edges=(*own.edges[first:], *own.edges[:first]), pleats=())
        pieces[name] = Piece(name, nest)
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


def _name_edges(before: SizedPiece, now: SizedPiece) -> tuple[dict[str, str], list[str]]:
    """Name now to name to be, and the names to be that are new."""
    carried = carry_names(
        [(edge.name, edge.points) for edge in before.edges],
        turn_upright(before.grain.direction),
        [edge.points for edge in now.edges],
        turn_upright(now.grain.direction),
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


def _name_landmarks(
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
