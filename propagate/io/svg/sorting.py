"""Which groups of a drawing are sizes, and which lines make one piece."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import field
from typing import Literal

import shapely

from propagate.errors import FormatError
from propagate.io.clean_names import clean_size
from propagate.io.options import ReadOptions
from propagate.io.report import ReportNotes
from propagate.io.svg.drawing import Group, Shape
from propagate.io.svg.rings import Ring, find_outermost, find_rings, is_mark
from propagate.io.svg.roles import role_of, tail_of
from propagate.values import dataclass

__all__ = [
    "DrawnPiece",
    "SizeGroups",
    "collect_pieces",
    "hand_out",
    "looks_like_size",
    "pieces_in",
    "size_groups",
    "size_named",
]

_SIZE = re.compile(r"\d{1,3}(?:[-/_]\d{1,3})?|[0-9]?X{0,4}[SL]|M|[0-9]X|one", re.IGNORECASE)
_SAID = re.compile(
    r"(?:size|sz|gr|groesse|taille|talla)(?P<gap>[-_ .]*)(?P<size>.+)", re.IGNORECASE
)
_GENERAL = re.compile(
    r"(?:layer|ebene|calque|capa|outlines?|seam|seam[-_ ]?lines?|sew|sew[-_ ]?lines?|stitch\w*|"
    r"cut(?:ting)?(?:[-_ ]?lines?)?|"
    r"edges?|piece|pattern|patterns|drawing|contour|shape|marks?|group|g|all(?:[-_ ]sizes)?|shared|"
    r"common|others?)[-_ ]*\d*",
    re.IGNORECASE,
)
MOST_PIECES = 1000
MOST_RINGS = 3000
ON_EDGE_MM = 0.5  # a fold line this near to an edge is drawn on it
NEAR_MM = 1.0  # a line this near to a piece is on it
_SEAM = re.compile(r"seam|sew|stitch", re.IGNORECASE)


@dataclass(eq=False)
class DrawnPiece:
    """The lines of one piece in one size.

    Attributes
    ----------
    name : str or None
    ring : Ring
        Its outline.
    shapes : list of Shape
        Everything else on it.
    data : dict
        The ``data-`` attributes of its group.
    named_by : "line", "group" or "said"
        Where the name comes from; ``said`` by ``data-piece`` or the class ``piece``.
    """

    name: str | None
    ring: Ring
    shapes: list[Shape] = field(default_factory=list)
    data: dict[str, str] = field(default_factory=dict)
    named_by: Literal["line", "group", "said"] = "line"


def looks_like_size(text: str) -> bool:
    """Whether a text is a size by its looks: ``38``, ``XL``, ``8-10``."""
    return _SIZE.fullmatch(text) is not None


@dataclass(frozen=True)
class SizeGroups:
    """The groups of a drawing that are sizes, in the order they are drawn.

    Attributes
    ----------
    groups : tuple of (size, Group)
        Empty when none is.
    left_out : tuple of str
        Sizes drawn beside them that were not asked for.
    shared : Group
        What is drawn beside them once, for all sizes.
    """

    groups: tuple[tuple[str, Group], ...]
    left_out: tuple[str, ...]
    shared: Group


def size_groups(whole: Group, options: ReadOptions) -> SizeGroups:
    """The groups that are sizes, and what is drawn beside them."""
    shared = Group(None, frozenset(), {})
    level = [whole]
    while level:
        children = [group for parent in level for group in parent.groups]
        said = [(_size_of(group, options.sizes), group) for group in children]
        found = [(size, group) for size, group in said if size]
        taken = [(size, group) for size, group in found if clean_size(size) in options.sizes]
        taken = taken or found
        shared.shapes += [shape for parent in level for shape in parent.shapes]
        if taken:
            groups = [group for _, group in taken]
            others = [(_size_of(group, ()), group) for group in children if group not in groups]
            shared.groups += [group for size, group in others if not size]
            left_out = [clean_size(size) for size, _ in others if size]
            return SizeGroups(tuple(taken), tuple(left_out), shared)
        shared.groups += [group for group in children if group.shapes]
        level = [group for group in children if not group.shapes]
    return SizeGroups((), (), shared)


def _size_of(group: Group, wanted: Sequence[str]) -> str | None:
    return group.data["size"] if "size" in group.data else size_named(group.name or "", wanted)


def size_named(name: str, wanted: Sequence[str] = ()) -> str | None:
    """The size that a name of a group or layer says: among those wanted, if any are."""
    said = _SAID.fullmatch(name)
    if said and not said["gap"] and said["size"] not in wanted:
        said = said if looks_like_size(said["size"]) else None  # "gr38" is one, "grainline" none
    if wanted:
        names = (name, said["size"] if said else name)
        return next((name for name in names if name in wanted), None)
    if said:
        return clean_size(said["size"]) or None
    return name if looks_like_size(name) else None


def pieces_in(
    whole: Group, options: ReadOptions, notes: ReportNotes, file: str, size: str
) -> list[DrawnPiece]:
    """The pieces drawn in a group, each with the lines that belong to it.

    Raises
    ------
    FormatError
        For more outlines than a style has pieces.
    """
    pieces, left = collect_pieces(whole, options, top=True)
    if len(pieces) > MOST_PIECES:
        raise FormatError(
            f"{file}, size '{size}': found {len(pieces)} closed outlines side by side, expected at "
            f"most {MOST_PIECES} pieces; take hatchings and ornaments out"
        )
    hand_out(pieces, left, notes, file, size)
    return pieces


def collect_pieces(
    group: Group, options: ReadOptions, *, top: bool = False
) -> tuple[list[DrawnPiece], list[Shape]]:
    """Pieces in a group, and the lines of it that belong to none so far."""
    pieces: list[DrawnPiece] = []
    left = list(group.shapes)
    for child in group.groups:
        inner, rest = collect_pieces(child, options)
        pieces += inner
        left += rest
    said = [shape for shape in left if role_of(shape) in ("edge", "outline")]
    outlines, rest = _find_outlines(said or left, options)
    if said:
        edges = set(said)
        rest += [shape for shape in left if shape not in edges]
    fresh = []
    for ring in outlines:  # named by the path itself, or by what the names of all edges share
        names = {shape.name or "" for _, shape in ring.parts}
        heads = {tail_of(name.rpartition(".")[0]) for name in names}
        if ring.whole:
            heads = {None if _GENERAL.fullmatch(name) else tail_of(name) for name in names}
        fresh.append(DrawnPiece(heads.pop() if len(heads) == 1 else None, ring))
    outer = []
    for piece in pieces:  # what an inner group draws inside an outline are lines on it
        around = (one.ring.polygon.contains(piece.ring.polygon) for one in fresh)
        if piece.named_by != "said" and any(around):
            rest += [shape for _, shape in piece.ring.parts] + piece.shapes
        else:
            outer.append(piece)
    whole = outer + fresh
    if len(whole) != 1:
        return whole, rest
    whole[0].shapes += rest
    if not top:
        _name_by_group(whole[0], group)
    return whole, []


def _find_outlines(shapes: Sequence[Shape], options: ReadOptions) -> tuple[list[Ring], list[Shape]]:
    """Outermost rings; a seam line drawn inside a cut line comes before it unless that is asked."""
    cut = options.boundary == "cut"
    roles = ("edge", "outline", "unknown", "fold", *(("cut",) if cut else ()))
    can_be = [shape for shape in shapes if role_of(shape) in roles]
    rest = [shape for shape in shapes if role_of(shape) not in roles]
    # A fold line drawn on an edge, beside it, is a mark and closes no outline.
    folds = [shape for shape in can_be if role_of(shape) == "fold"]
    others = [shape.chain.figure for shape in can_be if shape not in folds] if folds else []
    near = shapely.union_all(others).buffer(ON_EDGE_MM)
    on_edge = [shape for shape in folds if others and near.contains(shape.chain.figure)]
    rest += on_edge
    rings, left = find_rings([shape for shape in can_be if shape not in on_edge], options.join)
    rings, small = _without_marks(rings)
    left += small
    if len(rings) > MOST_RINGS:
        raise FormatError(
            f"found {len(rings)} closed lines in one group, expected at most {MOST_RINGS}; take "
            "hatchings and ornaments out"
        )
    seams = [ring for ring in rings if not cut and _SEAM.search(ring.parts[0][1].name or "")]
    chosen = find_outermost(seams or rings)
    rest += left
    kept = set(map(id, chosen))
    rest += [shape for ring in rings if id(ring) not in kept for _, shape in ring.parts]
    return chosen, rest


def _without_marks(rings: Sequence[Ring]) -> tuple[list[Ring], list[Shape]]:
    """The rings without those as small as a mark on the line of a larger one, and what draws these.

    A triangle or a diamond on an outline is a notch, and reaches out of the piece.
    """
    small = [ring for ring in rings if is_mark(ring)]
    large = [ring.polygon.exterior for ring in rings if not is_mark(ring)]
    if not small or not large:
        return list(rings), []
    on_line = shapely.STRtree(large).query(
        [ring.polygon.exterior for ring in small], predicate="dwithin", distance=NEAR_MM
    )
    marks = {id(small[int(i)]) for i in on_line[0]}
    return (
        [ring for ring in rings if id(ring) not in marks],
        [shape for ring in small if id(ring) in marks for _, shape in ring.parts],
    )


def _name_by_group(piece: DrawnPiece, group: Group) -> None:
    """Name a piece by its group: the innermost one, or the one that says to be a piece."""
    if "piece" in group.data or "piece" in group.words:
        piece.name = group.data.get("piece") or tail_of(group.name)
        piece.data |= dict(group.data)
        piece.named_by = "said"
    elif piece.named_by == "line" and group.name and not _GENERAL.fullmatch(group.name):
        alone = piece.ring.whole and not piece.shapes and piece.name is not None
        if not alone:  # a path with a name of its own in a layer of its own keeps its name
            piece.name = tail_of(group.name)
            piece.named_by = "group"


def hand_out(
    pieces: Sequence[DrawnPiece], left: Sequence[Shape], notes: ReportNotes, file: str, size: str
) -> None:
    """Give each line that lies in no piece's group to the piece that it lies on."""
    if not pieces or not left:
        return
    areas = [piece.ring.polygon for piece in pieces]
    lines = [shape.chain.figure for shape in left]
    near: dict[int, list[int]] = {}
    pairs = shapely.STRtree(areas).query(lines, predicate="dwithin", distance=NEAR_MM)
    for line, area in pairs.T.tolist():
        near.setdefault(line, []).append(area)
    for index, shape in enumerate(left):
        touched = near.get(index, [])
        if not touched:
            notes.add("ignored", "a line that lies on no piece", file=file, size=size)
        elif len(touched) == 1:
            pieces[touched[0]].shapes.append(shape)
        else:  # the piece that most of the line lies on; of two the smaller
            line = lines[index]
            share = {
                i: areas[i].intersection(line).length / max(line.length, 1e-9) for i in touched
            }
            most = [i for i in touched if share[i] > max(share.values()) - 0.05]
            pieces[min(most, key=lambda i: areas[i].area)].shapes.append(shape)
