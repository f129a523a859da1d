"""What of the pieces each kind of relation reads, writes and is judged by.

Edges are named ``PIECE.EDGE``, edges of a silhouette that can be edited ``SILHOUETTE/EDGE``,
the size of a level ``level:LEVEL``: the nodes of the relation graph.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import Any

from propagate.pattern.alike import Alike
from propagate.pattern.derived import Derived
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Band, Girth, Opening, Place, Run, Seam, Stack
from propagate.pattern.set_on import Patch, nearest_edges, place_points
from propagate.pattern.told import told_fields
from propagate.pattern.welts import WeltOpening, line_points

__all__ = [
    "Links",
    "alike_edges",
    "alike_links",
    "anchors_of",
    "band_edges",
    "band_links",
    "derived_edges",
    "derived_links",
    "derived_own",
    "edge_names",
    "edges_counted_from_cut",
    "edges_of_piece",
    "edges_of_runs",
    "girth_links",
    "level_node",
    "line_node",
    "line_pieces_edges",
    "no_edges",
    "no_links",
    "only_read",
    "opening_edges",
    "opening_links",
    "patch_edges",
    "patch_judged",
    "patch_links",
    "patch_own",
    "place_links",
    "run_nodes",
    "runs_of",
    "seam_links",
    "silhouette_edges",
    "silhouette_node",
    "stack_links",
    "welt_judged",
    "welt_links",
    "welt_own",
]

Links = tuple[Sequence[str], Sequence[str]]
"""Nodes that a relation reads, and nodes that it writes."""


def silhouette_node(silhouette: str, edge: str) -> str:
    """Node of a silhouette edge."""
    return f"{silhouette}/{edge}"


def level_node(level: str) -> str:
    """Node of a level's size."""
    return f"level:{level}"


def edge_names(pattern: PatternSet, piece: str) -> list[str]:
    """Names of a piece's edges."""
    first = next(iter(pattern.pieces[piece].nest.values()))
    return list(first.edge_names)


def edges_of_piece(pattern: PatternSet, piece: str) -> list[str]:
    """``PIECE.EDGE`` of a piece's edges."""
    return [f"{piece}.{edge}" for edge in edge_names(pattern, piece)]


def silhouette_edges(pattern: PatternSet, name: str) -> list[str]:
    """Names of the edges of an assembly or a plain piece."""
    assembly = pattern.relations.assemblies.get(name)
    return edge_names(pattern, name) if assembly is None else list(assembly.edges)


def runs_of(relation: object) -> Iterator[tuple[str, Run]]:
    """Yield the key and the run of every run that a relation tells of, also in its rows."""
    for one in told_fields(type(relation)):
        value = getattr(relation, one.name)
        if one.told.form == "run":
            yield one.key, value
        elif one.told.form == "runs":
            yield from ((one.key, run) for run in value)
        elif one.told.form in ("rows", "tables"):
            for row in value:
                yield from ((f"{one.key}, {key}", run) for key, run in runs_of(row))


# ---------------------------------------------------------------------------- judged by


def edges_of_runs(_: PatternSet, relation: object) -> list[str]:
    """Every edge of its runs."""
    return sorted({span.key for _, run in runs_of(relation) for span in run})


def no_edges(_: PatternSet, __: object) -> list[str]:
    """None: it is not walked."""
    return []


def band_edges(pattern: PatternSet, band: Band) -> list[str]:
    """The runs of its zones and the edge that is sewn to them."""
    return sorted({*edges_of_runs(pattern, band), f"{band.piece}.{band.sewn}"})


def opening_edges(pattern: PatternSet, opening: Opening) -> list[str]:
    """The mouth, and the mouths of the layers behind it."""
    stack = pattern.relations.stack_of.get(opening.name)
    layers = stack.layers if stack is not None else ()
    mouths = {f"{layer.piece}.{layer.mouth}" for layer in layers if layer.mouth is not None}
    return sorted(mouths | {f"{opening.piece}.{opening.edge}"})


def derived_edges(pattern: PatternSet, derived: Derived) -> list[str]:
    """Its own edges, and those of the main piece that they lie on."""
    return sorted({*derived_own(pattern, derived), *_derived_from(pattern, derived)})


def edges_counted_from_cut(pattern: PatternSet) -> set[str]:
    """``PIECE.EDGE`` of the edges whose allowance decides where a derived piece lies."""
    return {
        key
        for derived in pattern.relations.derived.values()
        if any(one.from_cut for one in derived.edges)
        for key in _derived_from(pattern, derived)
    }


def derived_own(pattern: PatternSet, derived: Derived) -> list[str]:
    """The edges of a derived piece: none of them is left open by mistake."""
    return edges_of_piece(pattern, derived.piece)


def _derived_from(pattern: PatternSet, derived: Derived) -> list[str]:
    """``PIECE.EDGE`` of the lines of the main piece that a derived piece is made of."""
    assembly = pattern.relations.assemblies.get(derived.of)
    on = dict.fromkeys(one.on for one in derived.edges if one.on)
    inner = line_pieces_edges(pattern, derived)
    if assembly is None:
        # Where a corner of an edge that is counted from the cut line is no mitre, the edge beside
        # it tells where the cut line of one ends.
        names = edge_names(pattern, derived.of)
        at = [names.index(one.on) for one in derived.edges if one.from_cut and one.on in names]
        on |= dict.fromkeys(names[(i + step) % len(names)] for i in at for step in (-1, 1))
        return list(dict.fromkeys([*(f"{derived.of}.{edge}" for edge in on), *inner]))
    return sorted({*(s.key for edge in on for s in assembly.edges.get(edge, ())), *inner})


def line_pieces_edges(pattern: PatternSet, derived: Derived) -> list[str]:
    """``PIECE.EDGE`` of all that a line inside a piece may follow, when a derived edge is on it."""
    plain = derived.of not in pattern.relations.assemblies
    names = (
        derived.of if plain else one.line.partition(".")[0] for one in derived.edges if one.line
    )
    return [key for name in dict.fromkeys(names) for key in edges_of_piece(pattern, name)]


# ---------------------------------------------------------------- reads and writes (the graph)


def no_links(_: PatternSet, __: Any) -> None:
    """No node of the graph of its own."""


def only_read(pattern: PatternSet, relation: object) -> Links:
    """Reads its runs and writes nothing."""
    return edges_of_runs(pattern, relation), []


def seam_links(pattern: PatternSet, seam: Seam) -> Links:
    """Reads its lead and writes its follower; reads both where it is only walked.

    A follower that is taken in the size of its place is matched when that size is another one.
    """
    if seam.check or seam.mirror:
        return only_read(pattern, seam)
    follow = run_nodes(pattern, seam.follow)
    # Mains are matched before they are cut apart; every other follower takes the length of
    # pieces that are finished.
    early = any("/" in node for node in follow)
    lead = run_nodes(pattern, seam.lead) if early else [span.key for span in seam.lead]
    return [*lead, *_levels_of_places(pattern, {span.piece for span in seam.follow})], follow


def opening_links(_: PatternSet, opening: Opening) -> Links:
    """Reads the silhouette edges it ends on and writes the mouth."""
    edges = [silhouette_node(opening.silhouette, e) for e in (opening.across, opening.side)]
    return edges, [f"{opening.piece}.{opening.edge}"]


def stack_links(pattern: PatternSet, stack: Stack) -> Links:
    """Reads the mouth and what its layers ride on; writes every edge of the layers."""
    opening = pattern.relations.openings[stack.opening]
    needs = {f"{opening.piece}.{opening.edge}"}
    writes: list[str] = []
    for layer in stack.layers:
        needs.update(silhouette_node(opening.silhouette, on) for on in layer.ride.values())
        writes += edges_of_piece(pattern, layer.piece)
    return sorted(needs), writes


def band_links(pattern: PatternSet, band: Band) -> Links:
    """Reads the runs of its zones; writes every edge of the strip."""
    return edges_of_runs(pattern, band), edges_of_piece(pattern, band.piece)


def place_links(pattern: PatternSet, place: Place) -> Links:
    """Reads the size of its level; writes the whole piece."""
    return [level_node(place.level)], edges_of_piece(pattern, place.piece)


def girth_links(pattern: PatternSet, girth: Girth) -> Links:
    """Reads its runs, or its silhouettes."""
    needs = set(edges_of_runs(pattern, girth))
    for name in girth.silhouettes:
        needs.update(silhouette_node(name, edge) for edge in silhouette_edges(pattern, name))
    return sorted(needs), []


def derived_links(pattern: PatternSet, derived: Derived) -> Links:
    """Reads the lines of its main piece as they are cut apart; writes the whole piece.

    A mouth in a seam may be moved from the other side of its opening: that is read too.
    """
    reads = set(_derived_from(pattern, derived))
    for opening in pattern.relations.seam_openings.values():
        sides = edges_of_runs(pattern, opening)
        if reads & set(sides):
            reads |= set(sides)
    return sorted(reads), edges_of_piece(pattern, derived.piece)


def run_nodes(pattern: PatternSet, run: Run) -> list[str]:
    """Nodes of a run: silhouette edges where the span lies on one that can be edited."""
    relations = pattern.relations
    plain = {main.silhouette for main in relations.blend.mains} if relations.blend else set()
    nodes = []
    for span in run:
        owner = relations.parts_of.get(span.piece)
        if owner is None and span.piece in plain:
            nodes.append(silhouette_node(span.piece, span.edge))
            continue
        found = None
        if owner is not None:
            for edge, spans in relations.assemblies[owner].edges.items():
                if any(s.key == span.key for s in spans):
                    found = silhouette_node(owner, edge)
        nodes.append(found or span.key)
    return sorted(set(nodes))


# --------------------------------------------- what is set on, copies, openings on inner lines


def patch_edges(pattern: PatternSet, patch: Patch) -> tuple[str, ...]:
    """The edges that a place is measured from: said, or the two nearest in the base size."""
    if patch.edges:
        return patch.edges
    piece = pattern.sized(patch.on, pattern.base)
    return nearest_edges(piece, place_points(piece, patch))


def patch_judged(pattern: PatternSet, patch: Patch) -> list[str]:
    """The edges that the place is measured from."""
    return sorted(f"{patch.on}.{edge}" for edge in patch_edges(pattern, patch))


def patch_own(pattern: PatternSet, patch: Patch) -> list[str]:
    """The edges of what is set on: they are stitched down."""
    return [] if patch.piece is None else edges_of_piece(pattern, patch.piece)


def patch_links(pattern: PatternSet, patch: Patch) -> Links:
    """Reads the edges that the place is measured from, and the size of what is set on."""
    edges = [f"{patch.on}.{edge}" for edge in patch_edges(pattern, patch)]
    return [*edges, *_levels_of_places(pattern, {patch.piece})], []


def alike_edges(pattern: PatternSet, alike: Alike) -> list[str]:
    """Every edge of every copy."""
    return sorted(key for piece in alike.pieces for key in edges_of_piece(pattern, piece))


def alike_links(pattern: PatternSet, alike: Alike) -> Links:
    """Reads the first copy and writes the others."""
    first, *others = alike.pieces
    writes = [key for piece in others for key in edges_of_piece(pattern, piece)]
    return edges_of_piece(pattern, first), writes


def anchors_of(pattern: PatternSet, opening: WeltOpening) -> tuple[str, ...]:
    """What an opening is measured from: said, or the two edges nearest in the base size."""
    if opening.anchors:
        return opening.anchors
    piece = pattern.sized(opening.on, pattern.base)
    return nearest_edges(piece, line_points(piece, opening))


def line_node(opening: WeltOpening) -> str:
    """Node of its line, which an edit may move on purpose."""
    return f"{opening.on}.{opening.line}"


def welt_judged(pattern: PatternSet, opening: WeltOpening) -> list[str]:
    """The outline of the main piece, and the edges that are sewn to the opening."""
    return sorted({*edges_of_piece(pattern, opening.on), *welt_own(pattern, opening)})


def welt_own(_: PatternSet, opening: WeltOpening) -> list[str]:
    """The edges that are sewn to it: none of them is left open by mistake."""
    return sorted({f"{part.piece}.{part.edge}" for part in opening.parts})


def welt_links(pattern: PatternSet, opening: WeltOpening) -> Links:
    """Reads all of the outline that it may come near to, its line and the sizes of its parts.

    It writes the whole of the parts that grow and shrink with it.
    """
    parts = {part.piece for part in opening.parts}
    reads = [*edges_of_piece(pattern, opening.on), line_node(opening)]
    reads += _levels_of_places(pattern, parts)
    return reads, [key for piece in sorted(parts) for key in edges_of_piece(pattern, piece)]


def _levels_of_places(pattern: PatternSet, pieces: Collection[str | None]) -> list[str]:
    """Nodes of the levels whose size pieces are taken in."""
    places = pattern.relations.places.values()
    return [level_node(level) for level in sorted({p.level for p in places if p.piece in pieces})]
