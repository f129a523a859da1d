"""Pocket layers that were sent beside their main piece and say nothing of their own.

A colleague who moves a pocket sends the front and, redrawn to it, its facing and bags.
Where those are what the front asks for by itself, they need no carrying to the other sizes:
there they follow their own front, line on line.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from propagate.engine.compare import redrawn_edges
from propagate.engine.relations.given_layer import put_motion
from propagate.engine.result import Result
from propagate.errors import PropagateError
from propagate.geometry.polyline import measure_apart
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import StackLayer

__all__ = ["find_following_layers"]

_ALIKE_MM = 0.1
"""A layer that was traced from its main piece lies on it within the width of a line."""


def find_following_layers(
    pattern: PatternSet,
    sent: Mapping[str, SizedPiece],
    run: Callable[[Mapping[str, SizedPiece]], Result],
) -> frozenset[str]:
    """Layers among the pieces sent in the base size that the others ask for as they are.

    Parameters
    ----------
    pattern : PatternSet
    sent : mapping of name to SizedPiece
        What changed in the base size.
    run : callable
        Does the revision in the base size with some of those pieces.
    """
    beside = _find_beside_main(pattern, sent)
    if not beside:
        return frozenset()
    try:
        alone = run({name: piece for name, piece in sent.items() if name not in beside})
    except PropagateError:
        return frozenset()
    follow = set()
    for name, (layer, main) in beside.items():
        # Two drawings of the layer are the same, each laid on the opening.
        drawn, made = sent[name], alone.pattern.sized(name, pattern.base)
        first, off = put_motion(layer, drawn, sent[main])
        second, _ = put_motion(layer, made, sent[main])
        if off <= _ALIKE_MM and all(
            measure_apart(first.apply(one.points), second.apply(other.points)) <= _ALIKE_MM
            for one, other in zip(drawn.edges, made.edges, strict=True)
        ):
            follow.add(name)
    return frozenset(follow)


def _find_beside_main(
    pattern: PatternSet, sent: Mapping[str, SizedPiece]
) -> dict[str, tuple[StackLayer, str]]:
    """Layers that were sent with their main piece, when that moved their opening."""
    relations = pattern.relations
    old = {name: pattern.sized(name, pattern.base) for name in sent}
    redrawn = redrawn_edges(old, sent)
    found = {}
    for stack in relations.stacks.values():
        opening = relations.openings[stack.opening]
        if f"{opening.piece}.{opening.edge}" in redrawn:
            found.update({x.piece: (x, opening.piece) for x in stack.layers if x.piece in sent})
    return found
