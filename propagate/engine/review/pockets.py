"""Pockets whose layers, line and clear edges do not go together."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from propagate.engine.review.finding import Finding
from propagate.engine.review.taken import span_lengths
from propagate.geometry.profile import tangent_profile
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Opening, Span, Stack, StackLayer

__all__ = ["find_faulty_pockets", "find_openings_sewn_shut"]

AT_END_MM = 1.0
SAME_MM, SAME_DEG = 0.5, 1.0


def find_faulty_pockets(pattern: PatternSet) -> Iterator[Finding]:
    """Find openings on the wrong edge, opening lines not said and clear edges that are ridden."""
    for stack in pattern.relations.stacks.values():
        opening = pattern.relations.openings[stack.opening]
        yield from _find_elsewhere(pattern, stack, opening)
        for layer in stack.layers:
            yield from _line_not_said(pattern, stack, opening, layer)
            for edge in stack.clear_of:
                if edge in layer.ride.values():
                    own = next(o for o, theirs in layer.ride.items() if theirs == edge)
                    yield Finding(
                        "bag cannot stay clear",
                        f"stack '{stack.name}', layer '{layer.piece}'",
                        f"found '{edge}' in clear_of, and that '{layer.piece}.{own}' rides on it; "
                        "expected edges that a bag keeps away from, such as the centre front. "
                        f"Probably '{edge}' is a slip for another edge: correct clear_of",
                        (layer.piece,),
                    )
                    break


def _find_elsewhere(pattern: PatternSet, stack: Stack, opening: Opening) -> Iterator[Finding]:
    """Find an opening that is not the line on whose ends its layers are put."""
    main = pattern.sized(opening.piece, pattern.base)
    ends = main.edge(opening.edge).points[[0, -1]]
    for layer in stack.layers:
        puts = [main.landmark(theirs) for _, theirs in layer.put]
        far = [
            mark
            for mark in puts
            if float(np.hypot(*(ends - np.asarray(mark.point)).T).min()) > AT_END_MM
        ]
        if not far:
            continue
        meant = [mark.edge for mark in puts]
        edge = max(dict.fromkeys(meant), key=meant.count)
        yield Finding(
            "opening on another edge",
            f"opening '{opening.name}', stack '{stack.name}', layer '{layer.piece}'",
            f"found that the opening is edge '{opening.edge}' of '{opening.piece}', and that the "
            f"layer is put on '{far[0].name}', which is no end of it; expected the layers put on "
            f"the two ends of the opening. Probably "
            + (
                f"'{edge}' was meant as the opening's edge (edge = \"{edge}\")"
                if edge != opening.edge
                else "another landmark was meant in 'put'"
            )
            + ": correct 'edge' or 'put'",
            (opening.piece, layer.piece),
            sews=False,
        )
        return


def _line_not_said(
    pattern: PatternSet, stack: Stack, opening: Opening, layer: StackLayer
) -> Iterator[Finding]:
    """Find a layer that has the opening's line as an edge, and does not say so."""
    if layer.mouth is not None:
        return
    piece = pattern.sized(layer.piece, pattern.base)
    line = Span(opening.piece, opening.edge)
    wanted = span_lengths(pattern, line)
    shape = tangent_profile(pattern.sized(opening.piece, pattern.base).edge(opening.edge).points)
    points = [np.asarray(piece.landmark(own).point) for own, _ in layer.put]
    for edge in piece.edges:
        ends = edge.points[[0, -1]]
        at_ends = all(float(np.hypot(*(ends - p).T).min()) <= AT_END_MM for p in points)
        if not at_ends or edge.name in layer.ride:
            continue
        if np.abs(span_lengths(pattern, Span(layer.piece, edge.name)) - wanted).max() > SAME_MM:
            continue
        own = tangent_profile(edge.points)
        ways = [sign * way for way in (own, own[::-1]) for sign in (1, -1)]
        if min(float(np.abs(shape - way).max()) for way in ways) <= SAME_DEG:
            yield Finding(
                "opening line not said",
                f"stack '{stack.name}', layer '{layer.piece}'",
                f"found that '{layer.piece}.{edge.name}' is the line of the opening "
                f"'{opening.piece}.{opening.edge}' (as long in every size, and of its shape) and "
                "no 'mouth' of this layer; expected it named, so that it stays that line. "
                f'Probably it was left out: write mouth = "{edge.name}"',
                (layer.piece, opening.piece),
            )


def find_openings_sewn_shut(pattern: PatternSet) -> Iterator[Finding]:
    """Find an opening's edge that a seam closes: sewn to something that is no layer of it."""
    for opening in pattern.relations.openings.values():
        stack = pattern.relations.stack_of.get(opening.name)
        layers = {layer.piece for layer in stack.layers} if stack is not None else set()
        key = f"{opening.piece}.{opening.edge}"
        for seam in pattern.relations.seams.values():
            own, other = seam.lead, seam.follow
            if key not in {span.key for span in own}:
                own, other = other, own
            mates = {span.piece for span in other}
            sewn = [key in {span.key for span in side} for side in (own, other)]
            if sewn != [True, False] or mates & layers or seam.mirror:
                continue
            if len({span.key for span in own}) > 1:
                continue
            yield Finding(
                "opening sewn shut",
                f"opening '{opening.name}', seam '{seam.name}'",
                f"found that the opening's edge '{opening.piece}.{opening.edge}' is sewn to "
                f"'{sorted(mates)[0]}', which is no layer of the pocket; expected it open, or sewn "
                "to a layer. Probably the opening (or the seam) names the wrong edge: correct it",
                (opening.piece, *sorted(mates)),
                sews=False,
            )
