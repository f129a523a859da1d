"""A set that is there already, as a kind of garment: its seams, looked for on pieces like its own.

Each of its pieces is a role whose edges look as they do there, a little more or less; each of its
seams is a join, eased as it is there.  Landmarks stand for whatever mark fits.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from propagate.pattern.garments import EdgeShape, GarmentKind, Join, Role
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Seam
from propagate.pattern.spans import run_length
from propagate.suggesting.nest import Nest, measure
from propagate.suggesting.roles import Sides

__all__ = ["kind_of"]

LEAN_DEG, SHARE, BOW = 20.0, 0.35, 0.06
"""How much an edge may look otherwise: by an angle, a part of its share, parts of its chord."""
EASE_MM = 4.0


def kind_of(pattern: PatternSet) -> GarmentKind:
    """The kind of garment that a set is, from its own pieces and seams.

    Parameters
    ----------
    pattern : PatternSet
        With relations; of these, seams are taken.
    """
    nest = measure(pattern)
    sides = Sides(nest)
    seams = list(pattern.relations.seams.values())
    order = _in_order(seams)
    roles = tuple(_role(nest, sides, piece, optional=k > 0) for k, piece in enumerate(order))
    joins = tuple(_join(pattern, seam) for seam in seams)
    return GarmentKind(f"the set '{pattern.name}'", roles, joins, origin="set")


def _pieces(seam: Seam) -> set[str]:
    return {span.piece for span in (*seam.lead, *seam.follow)}


def _in_order(seams: Iterable[Seam]) -> list[str]:
    """Pieces that are sewn, those with most seams first, each beside one before it if it can be."""
    left = [_pieces(seam) for seam in seams]
    count: dict[str, int] = {}
    for pieces in left:
        for piece in pieces:
            count[piece] = count.get(piece, 0) + 1
    order: list[str] = []
    while len(order) < len(count):
        near = {piece for pieces in left if pieces & {*order} for piece in pieces} - {*order}
        order.append(max(near or {*count} - {*order}, key=lambda piece: (count[piece], piece)))
    return order


def _role(nest: Nest, sides: Sides, piece: str, *, optional: bool) -> Role:
    names = nest.outline_names(piece)
    shapes = {}
    for name in names:
        side = sides.of(piece, (name,))
        shapes[name] = EdgeShape(
            (side.lean - LEAN_DEG, side.lean + LEAN_DEG),
            (side.share * (1.0 - SHARE), side.share * (1.0 + SHARE)),
            (side.bow - BOW, side.bow + BOW),
        )
    info = nest.pattern.info.get(piece)
    fold = frozenset([info.fold] if info is not None and info.fold is not None else [])
    return Role(piece, (names,), shapes, optional, fold)


def _join(pattern: PatternSet, seam: Seam) -> Join:
    differ = [
        _length(pattern, seam.follow, size) - _length(pattern, seam.lead, size)
        for size in pattern.sizes
    ]
    low, high = float(np.min(differ)), float(np.max(differ))
    ease = (low - EASE_MM, high + EASE_MM) if max(abs(low), abs(high)) > EASE_MM else (0.0, 0.0)
    return Join(seam.name, seam.lead, seam.follow, ease, seam.mirror, check=seam.check)


def _length(pattern: PatternSet, run: Run, size: str) -> float:
    return run_length(lambda piece: pattern.sized(piece, size), run)
