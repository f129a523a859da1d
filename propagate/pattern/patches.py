"""The place of a patch: its points, its edges, what it reads, and what can be wrong with it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from propagate.geometry.polyline import locate_all
from propagate.pattern.model import SizedPiece
from propagate.pattern.names import Names
from propagate.pattern.patternset import PatternSet
from propagate.pattern.set_on import Patch

__all__ = [
    "check_patches",
    "nearest_edges",
    "patch_edges",
    "patch_judged",
    "patch_links",
    "patch_own",
    "place_points",
]

Array = npt.NDArray[np.float64]


def place_points(piece: SizedPiece, patch: Patch) -> Array:
    """(n, 2) points of the place, lines first and drill marks after them, as `patch` lists them."""
    lines = {line.name: line.points for line in piece.lines}
    drills = {mark.name: mark.point for mark in piece.drills}
    return np.vstack(
        [*(lines[name] for name in patch.lines), *([drills[name]] for name in patch.drills)]
    )


def patch_edges(pattern: PatternSet, patch: Patch) -> tuple[str, ...]:
    """The edges that a place is measured from: said, or the two nearest in the base size."""
    if patch.edges:
        return patch.edges
    piece = pattern.sized(patch.on, pattern.base)
    return nearest_edges(piece, place_points(piece, patch))


def nearest_edges(piece: SizedPiece, points: Array) -> tuple[str, ...]:
    """The two edges of a piece that are nearest to something inside it."""
    near = {edge.name: float(locate_all(edge.points, points)[1].min()) for edge in piece.edges}
    return tuple(sorted(near, key=lambda name: (near[name], name))[:2])


def patch_links(pattern: PatternSet, patch: Patch) -> tuple[list[str], list[str]]:
    """Reads the edges that the place is measured from, and the size of what is set on."""
    places = pattern.relations.places.values()
    levels = {place.level for place in places if place.piece == patch.piece}
    edges = [f"{patch.on}.{edge}" for edge in patch_edges(pattern, patch)]
    return [*edges, *(f"level:{level}" for level in sorted(levels))], []


def patch_judged(pattern: PatternSet, patch: Patch) -> list[str]:
    """The edges that the place is measured from."""
    return sorted(f"{patch.on}.{edge}" for edge in patch_edges(pattern, patch))


def patch_own(pattern: PatternSet, patch: Patch) -> list[str]:
    """The edges of what is set on: they are stitched down."""
    if patch.piece is None:
        return []
    names = pattern.sized(patch.piece, pattern.base).edge_names
    return [f"{patch.piece}.{edge}" for edge in names]


def check_patches(names: Names) -> None:
    """Check that the place, its edges and what is set on exist."""
    for patch in names.pattern.relations.patches.values():
        where = f"patch '{patch.name}'"
        piece = names.piece(f"{where}, on", patch.on)
        if patch.piece is not None:
            names.piece(f"{where}, piece", patch.piece)
        if not patch.lines:
            names.add(where, "found no line, expected one or more that mark the place")
        if len(patch.edges) > 2 or len(set(patch.edges)) != len(patch.edges):
            names.add(
                f"{where}, from",
                f"found {', '.join(patch.edges)}, expected one edge, or two that differ",
            )
        for edge in patch.edges if piece is not None else ():
            names.edge(f"{where}, from", patch.on, edge)
        nest = names.pattern.pieces[patch.on].nest if piece is not None else {}
        for size, one in nest.items():
            for kind, said, known in (
                ("line", patch.lines, [line.name for line in one.lines]),
                ("drill mark", patch.drills, [mark.name for mark in one.drills]),
            ):
                for name in said:
                    if name not in known:
                        names.add(
                            where,
                            f"found no {kind} '{name}' on '{patch.on}' in size '{size}', expected "
                            f"one of {', '.join(known) or 'none'}",
                        )
