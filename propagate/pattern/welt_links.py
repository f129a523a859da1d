"""What of the pieces a welt opening reads, writes and is judged by."""

from __future__ import annotations

from propagate.pattern.patches import nearest_edges
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relation_edges import Links, edge_names, level_node
from propagate.pattern.welts import WeltOpening, line_points

__all__ = ["anchors_of", "line_node", "welt_judged", "welt_links", "welt_own"]


def anchors_of(pattern: PatternSet, opening: WeltOpening) -> tuple[str, ...]:
    """What an opening is measured from: said, or the two edges nearest in the base size."""
    if opening.anchors:
        return opening.anchors
    piece = pattern.sized(opening.on, pattern.base)
    return nearest_edges(piece, line_points(piece, opening))


def line_node(opening: WeltOpening) -> str:
    """Node of its line, which an edit may move on purpose."""
    return f"{opening.on}.{opening.line}"


def welt_links(pattern: PatternSet, opening: WeltOpening) -> Links:
    """Reads all of the outline that it may come near to, its line and the sizes of its parts.

    It writes the whole of the parts that grow and shrink with it.
    """
    parts = {part.piece for part in opening.parts}
    levels = {p.level for p in pattern.relations.places.values() if p.piece in parts}
    reads = [*_all(pattern, opening.on), line_node(opening), *map(level_node, sorted(levels))]
    return reads, [key for piece in sorted(parts) for key in _all(pattern, piece)]


def welt_judged(pattern: PatternSet, opening: WeltOpening) -> list[str]:
    """The outline of the main piece, and the edges that are sewn to the opening."""
    return sorted({*_all(pattern, opening.on), *welt_own(pattern, opening)})


def welt_own(_: PatternSet, opening: WeltOpening) -> list[str]:
    """The edges that are sewn to it: none of them is left open by mistake."""
    return sorted({f"{part.piece}.{part.edge}" for part in opening.parts})


def _all(pattern: PatternSet, piece: str) -> list[str]:
    return [f"{piece}.{edge}" for edge in edge_names(pattern, piece)]
