"""A front that is cut away for a pocket and has a dart: what turns with it, and what is refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

import propagate
from propagate import EditError
from propagate.pattern.model import Dart, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.validate import find_problems
from tests.builders import pocket_set
from tests.darts.drawn import cloth, leg_lengths, pair, sewn
from tests.darts.edits import divide, move, resize, swing


def shorter(band: SizedPiece) -> SizedPiece:
    """The waistband without the width of the dart in its front zone."""
    cut = np.array([16.0, 0.0])
    edges = tuple(
        replace(edge, points=edge.points - np.where(edge.points[:, :1] > 100.0, cut, 0.0))
        for edge in band.edges
    )
    marks = tuple(
        replace(mark, point=(mark.point[0] - 16.0, mark.point[1])) if mark.name == "side" else mark
        for mark in band.landmarks
    )
    return replace(band, edges=edges, landmarks=marks)


@pytest.fixture(scope="module")
def skirt() -> PatternSet:
    """The pocket skirt with a dart of 16 mm in the waist of its front."""
    pattern = pocket_set()
    nest = {}
    for size, front in pattern.pieces["front"].nest.items():
        waist = shapely.LineString(front.edge("waist").points)
        legs = [
            np.array(waist.interpolate(0.45 * waist.length + at).coords[0]) for at in (0.0, 16.0)
        ]
        across = (legs[1] - legs[0]) / np.hypot(*(legs[1] - legs[0]))
        tip = (legs[0] + legs[1]) / 2 + 90.0 * np.array([-across[1], across[0]])
        nest[size] = replace(
            front,
            landmarks=(
                *front.landmarks,
                Landmark("dart_out", "waist", pair(legs[0]), "dart leg"),
                Landmark("dart_in", "waist", pair(legs[1]), "dart leg"),
            ),
            darts=(Dart("dart", "waist", ("dart_out", "dart_in"), pair(tip)),),
        )
    bands = {size: shorter(band) for size, band in pattern.pieces["waistband"].nest.items()}
    pieces = {"front": Piece("front", nest), "waistband": Piece("waistband", bands)}
    made = replace(pattern, pieces={**pattern.pieces, **pieces})
    assert propagate.walk(made, cut_lines=False).sews
    assert find_problems(made) == ()
    return made


@pytest.mark.parametrize(
    "edit",
    [
        swing("front", "dart", "side", 200.0),
        swing("front", "dart", "hem", 150.0, share=0.5),
        swing("front", "dart", "centre", 150.0),
        move("front", "dart", 10.0),
        divide("front", "dart", 30.0),
    ],
    ids=["side", "hem", "centre", "move", "divide"],
)
def test_the_pocket_turns_with_its_part_and_keeps_its_shape(skirt: PatternSet, edit) -> None:
    result = propagate.run(skirt, edit)
    assert result.sews and find_problems(result.pattern) == ()
    old, new = skirt.sized("front", "38"), result.pattern.sized("front", "38")
    assert cloth(new) == pytest.approx(cloth(old), abs=2.0 if edit.word != "swing-dart" else 2e-3)
    for name in old.edge_names:
        assert sewn(new, name) == pytest.approx(sewn(old, name), abs=1e-3), name
    for dart in new.darts:
        assert np.ptp(leg_lengths(new, dart.name)) <= 1e-5
    for layer in ("facing", "top_bag"):
        areas = [shapely.Polygon(p.sized(layer, "38").outline) for p in (skirt, result.pattern)]
        assert areas[0].symmetric_difference(areas[1]).area <= 2.0, layer
    assert result.pattern.sized("back", "38").edges == skirt.sized("back", "38").edges
    assert result.pattern.sized("waistband", "38").edges == skirt.sized("waistband", "38").edges
    for girth in result.record.girths:  # the hip runs through the dart that opens at the side
        assert girth.found_mm == pytest.approx(girth.wanted_mm, rel=0.02), girth.girth
    for check in propagate.walk(result.pattern, cut_lines=False).of("opening"):
        assert abs(check.difference) <= 0.01
    # What is open or closed at the hem or the centre is the mouth of the dart alone.
    texts = [notice.text for notice in result.record.warnings]
    assert not any("nothing is sewn to it" in text for text in texts)


def test_no_dart_opens_in_the_pocket_and_the_pocket_is_no_side(skirt: PatternSet) -> None:
    with pytest.raises(EditError, match=r"'mouth', which is opening 'front_pocket'"):
        propagate.run(skirt, swing("front", "dart", "mouth", 50.0))
    with pytest.raises(EditError, match=r"lies on opening 'front_pocket'"):
        propagate.run(skirt, resize("front", "dart", 4.0))
    kept = propagate.run(skirt, resize("front", "dart", 4.0, keep="outline"))
    assert kept.sews
