"""A pocket layer drawn a little off its opening is warned of, and no reason to refuse."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from propagate.engine.revise import revise
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.validate import find_problems
from tests.revise.test_revise import let_out
from tests.shared import demo

OFF_MM = 0.3


def nudged(piece: SizedPiece) -> SizedPiece:
    """`mouth_low` of a bag a little farther down its side."""
    edge = piece.edge("side")
    at = piece.distance("side", "mouth_low") + OFF_MM
    x, y = (float(np.interp(at, edge.arc, edge.points[:, k])) for k in (0, 1))
    return replace(
        piece,
        landmarks=tuple(
            replace(m, point=(x, y)) if m.name == "mouth_low" else m for m in piece.landmarks
        ),
    )


@pytest.fixture
def trousers() -> PatternSet:
    real = demo("slant_trouser")
    nest = {size: nudged(piece) for size, piece in real.pieces["under_bag"].nest.items()}
    made = replace(real, pieces={**real.pieces, "under_bag": Piece("under_bag", nest)})
    assert find_problems(made) == ()
    return made


def test_a_revised_front_is_followed_all_the_same(trousers: PatternSet) -> None:
    front = trousers.sized("front", "42")
    edges = list(front.edges)
    names = front.edge_names
    i = names.index("mouth")  # the opening's lower end 2 mm down: its neighbours meet it there
    mouth, side = edges[i], edges[i + 1]
    down = side.points[1] - side.points[0]
    down = 2.0 * down / np.hypot(*down)
    moved = mouth.points + np.outer(mouth.arc / mouth.length, down)
    points = side.points.copy()
    points[0] = moved[-1]
    edges[i] = replace(mouth, points=moved, path=None)
    edges[i + 1] = replace(side, points=points, path=None)
    sent = let_out(replace(front, edges=tuple(edges)), "side", 0.0)
    found = revise(trousers, {"front": Piece("front", {"42": sent})})
    assert found.changed
    assert find_problems(found.pattern) == ()
    said = [notice.text for notice in found.records["42"].warnings]
    assert any("miss the ends of opening" in text for text in said)
