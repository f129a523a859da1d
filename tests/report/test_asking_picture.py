"""Pictures of questions: what lies where, judged by shapely."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from propagate.pattern.patternset import PatternSet, Relations
from propagate.report.asking_picture import Drawn, drawn_question
from propagate.report.scene.items import Area, Role
from propagate.suggesting.asking import Asking
from propagate.suggesting.proposal import Proposal
from tests.shared import demo


def asked_of_bare(name: str) -> tuple[PatternSet, list[Proposal]]:
    real = demo(name)
    bare = PatternSet(
        real.name, real.sizes, real.base, real.lay_on, real.pieces, real.info, Relations(), {}
    )
    return bare, list(Asking(bare).open)


def faces_of(drawn: Drawn) -> list[shapely.Polygon]:
    return [
        item.polygon
        for item in drawn.scene.items
        if isinstance(item, Area) and item.role is Role.FACE
    ]


@pytest.mark.parametrize("name", ["slant_trouser", "lined_skirt"])
def test_a_mirror_seam_shows_both_pieces_that_are_sewn(name: str) -> None:
    pattern, proposals = asked_of_bare(name)
    mirrors = [one for one in proposals if one.kind == "mirror seam"]
    assert mirrors
    for one in mirrors:
        drawn = drawn_question(pattern, one)
        first, second = faces_of(drawn)
        assert first.area == pytest.approx(second.area)
        assert first.distance(second) > 0.0
        # What mirrors the one onto the other mirrors the edge, too; no turn does.
        axis = (first.centroid.x + second.centroid.x) / 2.0
        edge, twin = (strand.points for strand in drawn.strands)
        assert np.allclose(edge * [-1.0, 1.0] + [2.0 * axis, 0.0], twin, atol=1e-6)
        assert [strand.side for strand in drawn.strands] == [0, 1]
        # The two edges lie nearer to each other than the pieces' middles.
        apart = abs(edge[:, 0].mean() - twin[:, 0].mean())
        assert apart < abs(first.centroid.x - second.centroid.x) + 1.0


@pytest.mark.parametrize("name", ["slant_trouser", "ferry_shirt", "lined_skirt", "market_bag"])
def test_marks_and_titles_are_apart_and_beside_their_edges(name: str) -> None:
    pattern, proposals = asked_of_bare(name)
    for one in proposals:
        drawn = drawn_question(pattern, one)
        marks = [label for label in drawn.labels if label.bold]
        for label in marks:
            place = shapely.Point(label.at)
            near = min(shapely.LineString(s.points).distance(place) for s in drawn.strands)
            assert near < 1.6 * drawn.letter, (one, label.text)
        for k, label in enumerate(drawn.labels):
            for other in drawn.labels[:k]:
                apart = float(np.hypot(*(label.at - other.at)))
                assert apart > 0.8 * drawn.letter, (str(one), label.text, other.text)
