"""A piece turned over, judged by shapely; its cut line has to be turned over with it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.affinity import scale

from propagate.engine.finish import cut_line
from propagate.pattern.info import Allowance, PieceInfo
from propagate.recognise.turned_over import turn_over, turn_over_info
from tests.shared import demo

CASES = [(name, piece) for name in ("slant_trouser", "ferry_shirt") for piece in demo(name).pieces]


def mirror(points: np.ndarray) -> shapely.Polygon:
    return scale(shapely.Polygon(points), xfact=-1.0, origin=(0.0, 0.0))


@pytest.mark.parametrize(("name", "piece"), CASES)
def test_the_outline_and_all_marks_are_the_mirror_image(name: str, piece: str) -> None:
    pattern = demo(name)
    turned = turn_over(pattern.pieces[piece])
    for size in pattern.sizes:
        was, now = pattern.sized(piece, size), turned.at(size)
        assert shapely.Polygon(now.outline).symmetric_difference(mirror(was.outline)).area < 1e-6
        assert shapely.LinearRing(now.outline).is_ccw
        for mark in was.landmarks:
            x, y = mark.point
            assert now.landmark(mark.name).point == (-x, y)
        for own, dart in zip(was.darts, now.darts, strict=True):
            assert dart.tip == (-own.tip[0], own.tip[1])
            first, second = (now.landmark_distances[leg] for leg in dart.legs)
            assert first < second  # along the outline, as every dart names its legs


@pytest.mark.parametrize("style", ["mitre", "square", "square second"])
def test_the_cut_line_is_turned_over_too(style: str) -> None:
    """A corner that ends square to one of its seams does so on the other face as well."""
    pattern = demo("slant_trouser")
    piece = pattern.pieces["front"]
    names = piece.at(pattern.base).edge_names
    corners = {f"{a}/{b}": style for a, b in zip(names, [*names[1:], names[0]], strict=True)}
    widths = {name: 8.0 + 3.0 * k for k, name in enumerate(names)}
    info = replace(PieceInfo("Front"), allowance=Allowance(10.0, widths, corners=corners))
    own = cut_line(piece.at(pattern.base), info).points
    turned = cut_line(turn_over(piece).at(pattern.base), turn_over_info(info)).points
    assert shapely.Polygon(turned).symmetric_difference(mirror(own)).area < 1e-3
    assert turn_over_info(turn_over_info(info)) == info


def test_anchors_keep_their_place() -> None:
    info = replace(PieceInfo("Front"), anchors={"notch": "side.start", "mid": "hem.end"})
    assert turn_over_info(info).anchors == {"notch": "side.end", "mid": "hem.start"}
