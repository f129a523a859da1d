"""The cut line of a piece as its maker states it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from propagate.engine.finish import allowances, cut_line
from propagate.errors import EditError, UnknownName
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, SizedPiece, frozen_points
from propagate.pattern.relations import Allowance, PieceInfo
from tests.builders import tiny_set

GRAIN = Grain((0.0, -10.0), (0.0, 10.0))


def trapeze(hem: float = 200.0, top: float = 160.0, height: float = 600.0) -> SizedPiece:
    """Half a skirt: hem below, side on the right, waist above, fold on the left."""
    corners = [(0, 0), (hem, 0), (top, height), (0, height), (0, 0)]
    names = ("hem", "side", "waist", "centre")
    edges = [Edge(n, frozen_points(corners[i : i + 2])) for i, n in enumerate(names)]
    return SizedPiece(tuple(edges), GRAIN)


INFO = PieceInfo(
    "Front",
    fold="centre",
    allowance=Allowance(
        default=10.0, edges={"hem": 40.0, "waist": 12.0}, turned=frozenset(["hem"])
    ),
)


def test_allowances_by_edge() -> None:
    assert allowances(trapeze(), INFO) == {"hem": 40, "side": 10, "waist": 12, "centre": 0}
    stated = replace(INFO, allowance=Allowance(default=10.0, edges={"centre": 15.0}))
    assert allowances(trapeze(), stated)["centre"] == 15


def test_half_skirt_on_the_fold() -> None:
    found = cut_line(trapeze(), INFO)
    assert not found.points.flags.writeable
    # Nothing beyond the fold, and the hem and waist end on its line.
    assert found.points[:, 0].min() == 0
    assert [0, -40] in found.points.tolist() and [0, 612] in found.points.tolist()
    assert set(found.stretches) == {"hem", "side", "waist", "centre"}
    # The side leans in by 40 in 600: above the fold of the hem the cut line is
    # 10 / cos(lean) from it, and below it mirrors.
    lean = 40 / 600
    hinge = 200 + 10 * math.hypot(1, lean)
    (hem,) = found.stretches["hem"]
    assert hem[-1] == pytest.approx([hinge, 0], abs=1e-9)
    assert hem[-2] == pytest.approx([hinge - 40 * lean, -40], abs=1e-9)
    assert found.area == pytest.approx(shapely.Polygon(found.points).area)


def test_fold_that_is_not_square_to_the_hem_stays_straight() -> None:
    piece = trapeze()
    tilted = replace(
        piece,
        edges=(
            piece.edges[0],
            piece.edges[1],
            Edge("waist", frozen_points([(160, 600), (20, 600)])),
            Edge("centre", frozen_points([(20, 600), (0, 0)])),
        ),
    )
    found = cut_line(tilted, INFO)
    (hem,) = found.stretches["hem"]
    assert hem[0] == pytest.approx([-40 * 20 / 600, -40])


def test_mitre_may_be_asked_for_at_a_turned_edge() -> None:
    stated = replace(INFO.allowance, corners={"hem/side": "mitre"})
    (hem,) = cut_line(trapeze(), replace(INFO, allowance=stated)).stretches["hem"]
    lean = 40 / 600
    assert hem[-1] == pytest.approx([200 + 10 * math.hypot(1, lean) + 40 * lean, -40])


def test_two_turned_edges_meet_in_a_mitre() -> None:
    stated = Allowance(default=40.0, turned=frozenset(["hem", "side"]))
    found = cut_line(trapeze(top=200.0), PieceInfo("Front", allowance=stated))
    assert [240, -40] in np.round(found.points, 9).tolist()


def test_square_corner_by_name() -> None:
    stated = replace(INFO.allowance, corners={"side/waist": "square"})
    found = cut_line(trapeze(), replace(INFO, allowance=stated))
    # The side's line run on reaches the waist's cut line 12 above the corner.
    foot = np.array([160 - 12 * 40 / 600, 612])
    out = np.array([600, 40]) / math.hypot(600, 40)
    assert np.hypot(*(found.points - foot).T).min() < 1e-9
    assert np.hypot(*(found.points - (foot + 10 * out)).T).min() < 1e-9


def test_every_piece_of_a_small_set() -> None:
    pattern = tiny_set()
    for name, piece in pattern.pieces.items():
        for size in piece:
            found = cut_line(piece.at(size), pattern.info[name], size=size)
            seam = shapely.Polygon(piece.at(size).outline)
            cloth = shapely.Polygon(found.points)
            assert cloth.is_valid
            assert cloth.buffer(1e-6).covers(seam)
            assert found.area == pytest.approx(cloth.area)


@pytest.mark.parametrize(
    ("stated", "message"),
    [
        (Allowance(edges={"hm": 3.0}), "no edge 'hm' in the allowance of piece 'Front', size 38"),
        (Allowance(turned=frozenset(["bottom"])), "no edge 'bottom'"),
        (Allowance(corners={"waist/side": "mitre"}), "no corner 'waist/side'"),
    ],
)
def test_unknown_names(stated: Allowance, message: str) -> None:
    with pytest.raises(UnknownName, match=message):
        cut_line(trapeze(), replace(INFO, allowance=stated), size="38")


def test_unknown_fold() -> None:
    with pytest.raises(UnknownName, match="no edge 'center' in the fold of piece 'Front'"):
        cut_line(trapeze(), replace(INFO, fold="center"))


def test_square_beside_a_turned_edge_is_refused() -> None:
    stated = replace(INFO.allowance, corners={"hem/side": "square"})
    with pytest.raises(EditError, match="corner 'hem/side': found style 'square'"):
        cut_line(trapeze(), replace(INFO, allowance=stated))


def test_negative_allowance_is_refused() -> None:
    stated = Allowance(default=-3.0)
    with pytest.raises(EditError, match=r"piece 'Front', size 38: no cut line .* -3\.0 mm"):
        cut_line(trapeze(), replace(INFO, allowance=stated), size="38")
