"""Coarse curves without an allowance: the cut line is the seam line, vertex by vertex."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Literal

import numpy as np
import pytest

from propagate.io.dxf import WriteOptions
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Piece, SizedPiece
from propagate.pattern.patternset import Relations
from propagate.pattern.relations import Allowance, PieceInfo
from tests.builders import tiny_set
from tests.io.dxf.test_round_trip import assert_same_drawing, there_and_back


def quarter(radius: float, chords: int, turns: tuple[int, ...]) -> SizedPiece:
    """A quarter of a circle, drawn with few chords."""
    angles = np.linspace(0.0, np.pi / 2, chords + 1)
    arc = radius * np.column_stack([np.cos(angles), np.sin(angles)])
    edges = (
        Edge("hem", arc, turns),
        Edge("top", np.array([arc[-1], [0.0, 0.0]])),
        Edge("side", np.array([[0.0, 0.0], arc[0]])),
    )
    return SizedPiece(edges, Grain((30.0, 20.0), (30.0, 80.0)))


@pytest.mark.parametrize("allowance", [0.0, 0.005, 10.0])
@pytest.mark.parametrize("kind", ["nested", "rules"])
@pytest.mark.parametrize("turns", [(), (3,)])
def test_bends_of_a_curve_are_no_corners(
    tmp_path: Path, kind: Literal["nested", "rules"], turns: tuple[int, ...], allowance: float
) -> None:
    """Chords that turn by 9 to 18 degrees, in one size and not in another."""
    tiny = tiny_set()
    sizes = {"36": quarter(600.0, 10, turns), "38": quarter(640.0, 5, turns)}
    info = PieceInfo("Skirt", allowance=Allowance(allowance))
    pattern = replace(
        tiny,
        sizes=("36", "38"),
        base="36",
        pieces={"skirt": Piece("skirt", sizes)},
        info={"skirt": info},
        relations=Relations(),
        chart={},
    )
    back = there_and_back(pattern, tmp_path, WriteOptions(kind=kind))
    for size, sized in sizes.items():
        assert_same_drawing(sized, back.sized("skirt", size), 0.0006)
