"""A set that is there already, as a kind of garment: its seams, looked for on pieces like its own.

Each of its pieces is a role whose edges look as they do there, a little more or less; each of its
seams is a join, eased as it is there.  Landmarks stand for whatever mark fits.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from propagate.pattern.garments import EdgeShape, GarmentKind, Join, KnownRole, Role
from propagate.pattern.patternset import PatternSet
from propagate.pattern.spans import run_length
from propagate.suggesting.nest import Nest, measure_nest
from propagate.suggesting.roles import Sides

__all__ = ["kind_of"]

LEAN_DEG, SHARE, BOW = 20.0, 0.35, 0.06
"""How much an edge may look otherwise: by an angle, a part of its share, parts of its chord."""
EASE_MM = 4.0


def kind_of(pattern: PatternSet, known: Mapping[str, KnownRole] | None = None) -> GarmentKind:
    """The kind of garment that a set is, from its own pieces and seams.

    Parameters
    ----------
    pattern : PatternSet
    known : mapping of piece to KnownRole
        Pieces of another set that are known to be its own; the others are looked for.
    """
    known = known or {}
    nest = measure_nest(pattern)
    sides = Sides(nest)
    seams = list(pattern.relations.seams.values())
    # Pieces with most seams first, each beside one before it if it can be.
    left = [{span.piece for span in (*s.lead, *s.follow)} for s in seams]
    count = Counter(piece for pieces in left for piece in pieces)
    order: list[str] = []
    while len(order) < len(count):
        near = {piece for pieces in left if pieces & {*order} for piece in pieces} - {*order}
        order.append(max(near or {*count} - {*order}, key=lambda piece: (count[piece], piece)))
    # A piece that is not known may be missing.
    sure = [piece for piece in order if piece in known]
    order = sure + [piece for piece in order if piece not in known]
    roles = tuple(
        replace(_make_role(nest, sides, piece, optional=k > 0), known=known.get(piece))
        for k, piece in enumerate(order)
    )
    joins = []
    for seam in seams:
        lead, follow = (
            np.array([run_length(pattern.in_size(size), run) for size in pattern.sizes])
            for run in (seam.lead, seam.follow)
        )
        low, high = float((follow - lead).min()), float((follow - lead).max())
        ease = (low - EASE_MM, high + EASE_MM) if max(abs(low), abs(high)) > EASE_MM else (0.0, 0.0)
        joins.append(Join(seam.name, seam.lead, seam.follow, ease, seam.mirror, check=seam.check))
    return GarmentKind(f"the set '{pattern.name}'", roles, tuple(joins), origin="set")


def _make_role(nest: Nest, sides: Sides, piece: str, *, optional: bool) -> Role:
    names = nest.outline_names(piece)
    shapes = {}
    for name in names:
        side = sides.of(piece, (name,))
        shapes[name] = EdgeShape(
            (side.lean - LEAN_DEG, side.lean + LEAN_DEG),
            (side.share * (1.0 - SHARE), side.share * (1.0 + SHARE)),
            (side.bow - BOW, side.bow + BOW),
        )
    fold = frozenset(name for name in names if nest.is_fold(f"{piece}.{name}"))
    return Role(piece, (names,), shapes, optional, fold)
