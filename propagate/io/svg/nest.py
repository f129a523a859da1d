"""The edges of a piece in all its sizes: the same names, in the same order."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence

import numpy as np

from propagate.errors import FormatError
from propagate.geometry.polyline import locate
from propagate.io.chain import Chain
from propagate.io.clean_names import clean_name
from propagate.io.options import ReadOptions
from propagate.io.svg.build import edge_of
from propagate.io.svg.drawing import Shape
from propagate.io.svg.marks import Place, Sorted
from propagate.io.svg.rings import Ring
from propagate.io.svg.roles import role_of, said_name
from propagate.pattern.model import Array, Edge
from propagate.pattern.names import free_name, quote_names
from propagate.recognise.corners import (
    CORNER_DEG,
    TURN_POINT_DEG,
    BareOutline,
    UnevenCorner,
    missed_corners,
)
from propagate.recognise.edge_names import carry_names, name_edges, name_outlines, turn_upright
from propagate.recognise.folds import ON_FOLD_MM, find_run_along
from propagate.values import dataclass

__all__ = ["SizeDrawing", "edges_have_names", "edges_of_sizes"]

MOST_TOLD = 5  # flat corners of a piece
_NO_FOLD = "the fold line lies along no straight edge: left out"
_COPY = re.compile(r"[-_]\d+_?$")  # what drawing programs add to an id that is there already


@dataclass(frozen=True, eq=False)
class SizeDrawing:
    """A piece in one size: its ring, its marks and where messages about it point."""

    ring: Ring
    marks: Sorted
    place: Place

    @property
    def up(self) -> Array:
        """The grain, upright."""
        assert self.marks.grain is not None
        return turn_upright(self.marks.grain.direction)


def edges_of_sizes(
    drawings: Mapping[str, SizeDrawing], base: str, options: ReadOptions
) -> tuple[Mapping[str, tuple[Edge, ...]], str | None]:
    """Edges of every size, and the name of the edge on the fold.

    Raises
    ------
    FormatError
        The sizes do not have the same edges, or corners.
    """
    if edges_have_names(drawings):
        return _as_drawn(drawings, base)
    return _at_corners(drawings, base, options)


def edges_have_names(drawings: Mapping[str, SizeDrawing]) -> bool:
    """Tell whether every size draws the edges one by one, with names.

    One closed line that is called an edge counts as such.
    """
    return all(
        role_of(ring.parts[0][1]) == "edge"
        if ring.whole
        else any(_edge_name(shape) for _, shape in ring.parts)
        for ring in (drawing.ring for drawing in drawings.values())
    )


def _edge_name(shape: Shape) -> str | None:
    return clean_name(said_name(shape) or "") or None


def _as_drawn(
    drawings: Mapping[str, SizeDrawing], base: str
) -> tuple[Mapping[str, tuple[Edge, ...]], str | None]:
    """Edges that are drawn one by one, from the one that says to be the first, if one does."""
    main = drawings[base]
    parts, names = main.ring.parts, _complete_names(main)
    start = next((i for i, (_, shape) in enumerate(parts) if "first" in shape.data), 0)
    parts, names = parts[start:] + parts[:start], names[start:] + names[:start]
    found: dict[str, tuple[Edge, ...]] = {}
    for size, drawing in drawings.items():
        ordered = parts if size == base else _order_like(drawing, names, parts, main, base)
        found[size] = tuple(
            edge_of(name, chain, _read_turns(chain, shape))
            for name, (chain, shape) in zip(names, ordered, strict=True)
        )
    for name, (_, shape) in zip(names, parts, strict=True):
        if role_of(shape) == "fold" or "fold" in shape.data:
            return found, name
    if main.marks.folds:
        for edge in found[base]:
            straight = edge.length <= 1.001 * math.dist(edge.points[0], edge.points[-1])
            ends = ((line.start, line.end) for line in main.marks.folds)
            if straight and any(
                max(locate(edge.points, end)[1] for end in pair) <= ON_FOLD_MM for pair in ends
            ):
                return found, edge.name
        main.place.note("warning", _NO_FOLD)
    return found, None


def _read_turns(chain: Chain, shape: Shape) -> tuple[int, ...] | None:
    """The turn points that a drawn edge states; None where it does not say."""
    text = shape.data.get("turns")
    if text is None:
        return () if "length-mm" in shape.data or "edge" in shape.words else None
    try:
        turns = sorted({int(word) for word in text.split()})
    except ValueError:
        return None
    if chain.start != shape.chain.start:  # turned round since it was drawn
        turns = sorted(len(chain.points) - 1 - turn for turn in turns)
    return tuple(turns)


def _complete_names(drawing: SizeDrawing) -> list[str]:
    """Names for all edges: as said, made unique; by place and role where nothing is said."""
    said = [_edge_name(shape) for _, shape in drawing.ring.parts]
    made = name_edges([chain.points for chain, _ in drawing.ring.parts], drawing.up)
    used: set[str] = set()
    found: list[str] = []
    for name, other in zip(said, made, strict=True):
        taken = used if name else used.union(filter(None, said))
        unique = free_name(name or other, taken)
        if name and unique != name:
            drawing.place.note("warning", f"two edges are called '{name}'; one is now '{unique}'")
        used.add(unique)
        found.append(unique)
    missing = sum(name is None for name in said)
    if missing:
        drawing.place.note(
            "assumed", "an edge without a name was named by its place", None, missing
        )
    return found


def _order_like(
    drawing: SizeDrawing,
    names: Sequence[str],
    model: Sequence[tuple[Chain, Shape]],
    main: SizeDrawing,
    base: str,
) -> list[tuple[Chain, Shape]]:
    """The edges of another size in the order of the base size's names."""
    parts = drawing.ring.parts
    where = f"piece '{drawing.place.piece}', size '{drawing.place.size}'"
    if len(parts) != len(names):
        raise FormatError(
            f"{where}: found {len(parts)} edges, expected {len(names)} as in size '{base}' "
            f"({', '.join(names)}); draw the same edges in every size"
        )
    called = [_edge_name(shape) for _, shape in parts]
    plain = [name if name in names else _COPY.sub("", name or "") for name in called]
    said = [name if name in names else None for name in plain]
    if set(said) != set(names):
        old = [(name, chain.points) for name, (chain, _) in zip(names, model, strict=True)]
        carried = carry_names(old, main.up, [chain.points for chain, _ in parts], drawing.up)
        said = [a or b for a, b in zip(said, carried, strict=True)]
        drawing.place.note(
            "assumed", f"edges are named after those in the same place in size '{base}'"
        )
    if set(said) != set(names):
        missing = quote_names(name for name in names if name not in said)
        raise FormatError(
            f"{where}: found no edge {missing}, expected the edges of size '{base}'; "
            "name the edges alike in every size"
        )
    start = said.index(names[0])
    order = said[start:] + said[:start]
    if list(order) != list(names):
        raise FormatError(
            f"{where}: found the edges in the order {', '.join(map(str, order))}, expected "
            f"{', '.join(names)} as in size '{base}'; is a name on the wrong edge?"
        )
    return parts[start:] + parts[:start]


def _at_corners(
    drawings: Mapping[str, SizeDrawing], base: str, options: ReadOptions
) -> tuple[Mapping[str, tuple[Edge, ...]], str | None]:
    """Outlines that are split at their corners, the edges named by their place."""
    chains = {size: drawing.ring.chain() for size, drawing in drawings.items()}
    outlines = {
        size: BareOutline(
            chain.points[:-1],
            drawings[size].up,
            tuple(sorted(set(chain.joints))) if chain.curved else None,
        )
        for size, chain in chains.items()
    }
    main = drawings[base]
    angle = CORNER_DEG if options.corner_angle is None else options.corner_angle
    folds = _find_folds(drawings, outlines, base)
    corners, names = name_outlines(main.place.piece, outlines, base, angle=angle, folds=folds)
    found = {
        size: tuple(map(edge_of, names, chain.split(corners.at[size])))
        for size, chain in chains.items()
    }
    main.place.note(
        "assumed",
        f"the outline was split where it turns by {angle:g} degrees or more, and "
        "its edges were named by their place",
        "--corner-angle",
    )
    _tell_doubtful_corners(main.place, corners.uneven, outlines[base], angle)
    return found, None if folds is None else names[corners.at[base].index(folds[base][0])]


def _find_folds(
    drawings: Mapping[str, SizeDrawing], outlines: Mapping[str, BareOutline], base: str
) -> Mapping[str, tuple[int, int]] | None:
    """Where the fold lies on the outline of every size; a line on no edge is told."""
    drawn = (base, *drawings)  # it may be drawn once, in the size that is drawn first
    main = next((folds for size in drawn if (folds := drawings[size].marks.folds)), [])
    found: dict[str, tuple[int, int]] = {}
    for size, drawing in drawings.items() if main else ():
        bare = outlines[size]
        for line in drawing.marks.folds or main:
            ends = np.array(line.start), np.array(line.end)
            run = find_run_along(bare.points, *ends, allowed=bare.candidates)
            if run is not None:
                found[size] = run[0], run[-1]
                break
        else:
            drawing.place.note("warning", _NO_FOLD)
            return None
    return found or None


def _tell_doubtful_corners(
    place: Place, uneven: Sequence[UnevenCorner], outline: BareOutline, angle: float
) -> None:
    """Say, once for all sizes, where some turn by a corner's angle and others do not.

    Where the outline turns as a flat corner does, the angle is told that would take it.
    """
    for corner in uneven[:MOST_TOLD]:
        x, y = corner.point
        done = "taken as a corner in all" if corner.taken else "not taken as a corner in any"
        place.note(
            "warning",
            f"at ({x:.1f}, {y:.1f}) mm the outline turns by {corner.least:.0f} to "
            f"{corner.most:.0f} degrees, depending on the size: {done}",
            f"--corner-angle {max(TURN_POINT_DEG, 5 * (min(corner.least, 120.0) // 5)):g}",
        )
    for index, turn in missed_corners(outline, angle)[:MOST_TOLD]:
        x, y = outline.points[index]
        place.note(
            "assumed",
            f"a turn of {turn:.0f} degrees at ({x:.1f}, {y:.1f}) mm was not taken as a corner",
            f"--corner-angle {max(TURN_POINT_DEG, 5 * (turn // 5)):g}",
        )
