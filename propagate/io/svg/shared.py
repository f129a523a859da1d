"""What a vector drawing draws once, beside the groups of its sizes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely

from propagate.errors import FormatError
from propagate.io.clean_names import clean_size
from propagate.io.drawn_lines import DrawnText
from propagate.io.options import ReadOptions
from propagate.io.report import ReportNotes
from propagate.io.sheet.left_out import what_is_none
from propagate.io.sheet.nest import place_said
from propagate.io.sheet.texts import find_text_middle
from propagate.io.svg.drawing import Group, Shape
from propagate.io.svg.rings import Ring
from propagate.io.svg.sorting import DrawnPiece, SizeGroups, collect_pieces, hand_out, pieces_in

__all__ = ["pieces_of_sizes"]

FEWEST_LINES = 2
"""Lines of text in a box that are not about a piece: a table, a legend or a note."""


def pieces_of_sizes(
    drawn: SizeGroups,
    texts: Sequence[DrawnText],
    options: ReadOptions,
    notes: ReportNotes,
    file: str,
) -> dict[str, list[DrawnPiece]]:
    """The pieces of every size, with what is drawn beside the groups of the sizes.

    Raises
    ------
    FormatError
        Two groups are of one size.
    """
    found: dict[str, list[DrawnPiece]] = {}
    for size, group in drawn.groups:
        name = clean_size(size)
        if name in found:
            raise FormatError(f"{file}: found size '{name}' twice, expected each size once")
        found[name] = pieces_in(group, options, notes, file, name)
    every = [piece.ring for pieces in found.values() for piece in pieces]
    for name, pieces in found.items():
        _add_shared(pieces, drawn.shared, every, texts, options, notes, file, name)
    return found


def _add_shared(
    pieces: list[DrawnPiece],
    shared: Group,
    every: Sequence[Ring],
    texts: Sequence[DrawnText],
    options: ReadOptions,
    notes: ReportNotes,
    file: str,
    size: str,
) -> None:
    """Add what is drawn once for all sizes: lines on the pieces, and pieces clear of them.

    Test squares, boxes with texts and cutting layouts that have no name are left out.

    Parameters
    ----------
    pieces : list of DrawnPiece
        Those of one size; what is drawn for all is added.
    shared : Group
    every : sequence of Ring
        The outlines of the pieces in all sizes: a layout shows those of one.
    texts : sequence of DrawnText
    """
    areas = [piece.ring.polygon for piece in pieces]
    inner, frames = _without_frames(shared, areas)
    if frames:
        notes.add("ignored", "a frame around pieces", file=file, size=size, count=frames)
    alike, left = collect_pieces(inner, options)
    clear = [one for one in alike if not shapely.intersects(areas, one.ring.polygon).any()]
    none = _what_is_none(clear, every, inner, texts)
    for one in alike:
        left += one.shapes  # each to the piece that it lies on, and not to the only one here
        one.shapes = []
        if one not in clear:
            left += [shape for _, shape in one.ring.parts]
        elif id(one.ring) in none:
            words = f"{none[id(one.ring)]} at {place_said(one.ring)}"
            notes.add("ignored", words, file=file, size=size)
        else:
            words = "a piece that is drawn beside the sizes is the same in all of them"
            notes.add("assumed", words, file=file, piece=one.name or "", size=size)
            pieces.append(one)
    hand_out(pieces, left, notes, file, size)


def _what_is_none(
    found: Sequence[DrawnPiece],
    every: Sequence[Ring],
    shared: Group,
    texts: Sequence[DrawnText],
) -> dict[int, str]:
    """What nameless outlines are that are no pieces; a box alone, with one text or none, is one."""
    rings = [one.ring for one in found if not one.name]
    none = what_is_none(rings, texts, every)
    places = [shapely.Point(find_text_middle(text)) for text in texts]
    lines = [shape.chain.figure for shape in _all_shapes(shared)]
    boxes = [ring for ring in rings if none.get(id(ring), "").startswith("a box")]
    empty = [
        box
        for box in boxes
        if sum(box.polygon.contains(place) for place in places) < FEWEST_LINES
        and not shapely.contains_properly(box.polygon, lines).any()
    ]
    full = [box for box in boxes if box not in empty]
    for box in empty:
        if not any(other.polygon.contains(box.polygon) for other in full):
            del none[id(box)]
    return none


def _all_shapes(group: Group) -> list[Shape]:
    return [*group.shapes, *(shape for child in group.groups for shape in _all_shapes(child))]


def _without_frames(group: Group, areas: Sequence[shapely.Polygon]) -> tuple[Group, int]:
    """A group without closed lines around pieces, and how many these were."""
    shapes = [
        shape
        for shape in group.shapes
        if not shape.chain.closed
        or not shapely.contains(shapely.Polygon(shape.chain.points), areas).any()
    ]
    inner = [_without_frames(child, areas) for child in group.groups]
    count = len(group.shapes) - len(shapes) + sum(more for _, more in inner)
    return replace(group, shapes=shapes, groups=[child for child, _ in inner]), count
