"""Give the edges and landmarks of a style that is read again the names it had before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from propagate.errors import FormatError, UnknownName
from propagate.pattern.info import PieceInfo
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.names import free_name
from propagate.pattern.patternset import PatternSet
from propagate.recognise.edge_names import carry_names, rename_edges, turn_upright
from propagate.values import dataclass

__all__ = ["Carried", "compare_names", "rename_by_place", "rename_pieces"]

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


def rename_by_place(
    piece: Piece, about: PieceInfo, old: PatternSet, base: str
) -> tuple[Piece, PieceInfo, Carried | None]:
    """Name edges and landmarks of a piece as in `old`, where they lie in the same place.

    The outline starts at the old first edge.
    """
    before, now = old.sized(piece.name, old.base), piece.at(base)
    edges = _name_edges(before, now)
    marks = _name_landmarks(before, now, edges)
    nest = {}
    for size, sized in piece.nest.items():
        own = rename_edges(sized, edges, marks)
        called = own.edge_names
        first = next((called.index(edge) for edge in before.edge_names if edge in called), 0)
        # The set tells pleats by its own names.
        nest[size] = replace(own, edges=(*own.edges[first:], *own.edges[:first]), pleats=())
    about = replace(
        about,
        fold=None if about.fold is None else edges[about.fold],
        strip=None if about.strip is None else tuple(edges[edge] for edge in about.strip),
        double_notches=tuple(marks.get(m, m) for m in about.double_notches),
    )
    named = Piece(piece.name, nest)
    return named, about, compare_names(before, named, base)


def compare_names(before: SizedPiece, piece: Piece, base: str) -> Carried | None:
    """What a piece has by names that it had not before, and the other way round."""
    now = piece.at(base)
    kept = {*now.edge_names, *(mark.name for mark in now.landmarks)}
    fresh = tuple(name for name in now.edge_names if name not in before.edge_names)
    names = [*before.edge_names, *(mark.name for mark in before.landmarks)]
    gone = tuple(name for name in names if name not in kept)
    return Carried(piece.name, fresh, gone) if fresh or gone else None


def _name_edges(before: SizedPiece, now: SizedPiece) -> dict[str, str]:
    """Name now to name to be."""
    carried = carry_names(
        [(edge.name, edge.points) for edge in before.edges],
        turn_upright(before.grain.direction),
        [edge.points for edge in now.edges],
        turn_upright(now.grain.direction),
    )
    taken = {name for name in carried if name is not None} | set(before.edge_names)
    found: dict[str, str] = {}
    for edge, name in zip(now.edges, carried, strict=True):
        wanted = name or free_name(edge.name, taken)
        if name is None:
            taken.add(wanted)
        found[edge.name] = wanted
    return found


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
