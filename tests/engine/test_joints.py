"""Where pieces are taped together the lead keeps its own points, digit for digit.

The parts of each demo set are drawn in frames of their own, as a file in whole hundredths of
a millimetre would have them: laid on the lead they miss its corners by a few thousandths.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from propagate.engine.tape import tape
from propagate.pattern.model import Edge, Piece, SizedPiece, frozen_points
from propagate.pattern.patternset import PatternSet
from tests import builders
from tests.engine.altered import drawn_at, turn_and_shift
from tests.shared import demo

TURNS = [0.0, 17.0, -101.0]
WHOLE = {"start", "end"}


def in_hundredths(piece: SizedPiece, decimals: int | None) -> SizedPiece:
    if decimals is None:
        return piece
    return replace(
        piece,
        edges=tuple(
            Edge(e.name, frozen_points(np.round(e.points, decimals)), e.turns) for e in piece.edges
        ),
        landmarks=tuple(
            replace(m, point=(round(m.point[0], decimals), round(m.point[1], decimals)))
            for m in piece.landmarks
        ),
    )


def redrawn(pattern: PatternSet, parts: set[str], turn: float, decimals: int | None) -> PatternSet:
    """Parts in another frame, and everything in so many decimals."""
    place = turn_and_shift(np.radians(turn), 13.37, 4.21)
    pieces = {
        name: Piece(
            name,
            {
                size: in_hundredths(drawn_at(sized, place) if name in parts else sized, decimals)
                for size, sized in piece.nest.items()
            },
        )
        for name, piece in pattern.pieces.items()
    }
    return replace(pattern, pieces=pieces)


@pytest.mark.parametrize("decimals", [None, 2])
@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("name", ["slant_trouser", "scoop_skirt", "workshop_gilet", "small"])
def test_the_lead_has_its_own_points_on_the_silhouette(
    name: str, turn: float, decimals: int | None
) -> None:
    drawn = builders.pocket_set() if name == "small" else demo(name)
    for assembly in drawn.relations.assemblies.values():
        parts = {part.piece for part in assembly.parts}
        pattern = redrawn(drawn, parts, turn, decimals)
        for size in pattern.sizes:
            lead = pattern.sized(assembly.lead, size)
            taped = tape(pattern, assembly.name, size)
            for edge, run in assembly.edges.items():
                on_it = {tuple(point) for point in taped.edge(edge).points.tolist()}
                for span in run:
                    if span.piece == assembly.lead and {span.begin, span.end} == WHOLE:
                        own = lead.edge(span.edge).points.tolist()
                        assert {tuple(point) for point in own} <= on_it, (size, edge)
